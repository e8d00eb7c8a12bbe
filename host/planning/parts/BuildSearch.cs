// Looks through every build of a box and keeps the best ones.

using Hourhinge.Rig;

namespace Hourhinge.Planning.Parts;

/// <summary>A build with its figures and its rig file.</summary>
/// <param name="Option">The build.</param>
/// <param name="Figures">What a maker feels of it.</param>
/// <param name="RigText">A rig file that reads and compiles.</param>
public sealed record RankedBuild(BuildOption Option, BuildFigures Figures, string RigText);

/// <summary>Result of a search.</summary>
/// <param name="Combinations">Combinations in the box: hinge, motor, train, microsteps.</param>
/// <param name="Best">The best builds, best first; empty when nothing fits.</param>
/// <param name="Nearest">When nothing fits: the combination that lacks least; null when no hinge is possible.</param>
/// <param name="NearestFigures">Its figures.</param>
/// <param name="Rejected">Why the compiler rejected a build that the figures allowed; empty for none.</param>
public sealed record SearchResult(
    long Combinations, IReadOnlyList<RankedBuild> Best, BuildOption? Nearest, BuildFigures? NearestFigures,
    string Rejected);

/// <summary>The search.</summary>
/// <remarks>
/// Every combination is judged; trains of one ratio are judged once, with the fewest wheels. The costs of a build do
/// not depend on those of another, so the best of a kind is the best of all its combinations: no combination is skipped
/// by a bound that would have to be proved. Equal costs: the first in the order of enumeration.
/// </remarks>
public static class BuildSearch
{
    /// <summary>Builds in an answer.</summary>
    public const int Answers = 5;

    // Builds of one kind that are tried on the compiler before the kind is given up.
    private const int Tries = 8;

    /// <summary>Searches a box.</summary>
    /// <param name="box">The parts.</param>
    /// <param name="progress">Called with the number of hinges done and of all.</param>
    /// <param name="cancel">Ends the search.</param>
    public static SearchResult Run(PartsBox box, Action<int, int> progress, CancellationToken cancel)
    {
        IReadOnlyList<HingeOption> hinges = HingeOption.All(box);
        IReadOnlyList<WheelTrain> all = WheelTrain.All(box.Wheels);
        WheelTrain[] trains = [.. WheelTrain.Distinct(all)];
        (double Ratio, int Pairs)[] ratios = [.. trains.Select(t => (t.Fraction.Ratio, t.Pairs.Count))];
        var judge = new BuildJudge(box);
        var scratch = new BuildFigures();
        var kinds = new List<Kind>();
        Candidate nearest = new(double.MaxValue, -1, -1, -1, -1);
        long combinations = 0;
        for (int h = 0; h < hinges.Count; h++)
        {
            cancel.ThrowIfCancellationRequested();
            progress(h, hinges.Count);
            HingeOption hinge = hinges[h];
            for (int m = 0; m < box.Motors.Count; m++)
            {
                MotorPart motor = box.Motors[m];
                int[] settings = motor is StepperPart s ? [.. s.Microsteps] : [1];
                combinations += (long)all.Count * settings.Length;
                Kind? kind = null;
                for (int t = 0; t < ratios.Length; t++)
                {
                    for (int u = 0; u < settings.Length; u++)
                    {
                        judge.Judge(scratch, hinge, motor, ratios[t].Ratio, ratios[t].Pairs, settings[u]);
                        if (scratch.Lack == 0)
                        {
                            kind ??= KindOf(kinds, hinge, m);
                            kind.Offer(new Candidate(scratch.Cost, h, m, t, settings[u]));
                        }
                        else if (scratch.Lack < nearest.Cost)
                        {
                            nearest = new Candidate(scratch.Lack, h, m, t, settings[u]);
                        }
                    }
                }
            }
        }

        progress(hinges.Count, Math.Max(1, hinges.Count));
        BuildOption Option(Candidate c) => new(hinges[c.Hinge], box.Motors[c.Motor], trains[c.Train], c.Microsteps);
        string rejected = "";
        var best = new List<RankedBuild>();
        var more = new List<RankedBuild>();
        foreach (Kind kind in kinds)
        {
            List<RankedBuild> sound = Sound(box, judge, kind, Option, ref rejected);
            best.AddRange(sound.Take(1));
            more.AddRange(sound.Skip(1));
        }

        List<RankedBuild> ranked = [.. best.OrderBy(b => b.Figures.Cost).Take(Answers)];
        // Fewer kinds than answers: fill up with the next best of the same kinds.
        ranked.AddRange(more.OrderBy(b => b.Figures.Cost).Take(Answers - ranked.Count));
        ranked = [.. ranked.OrderBy(b => b.Figures.Cost)];
        BuildOption? lacking = ranked.Count == 0 && nearest.Hinge >= 0 ? Option(nearest) : null;
        return new SearchResult(combinations, ranked, lacking, lacking == null ? null : Judge(judge, lacking),
            rejected);
    }

    /// <summary>The figures of a build.</summary>
    public static BuildFigures Judge(BuildJudge judge, BuildOption b) =>
        judge.Judge(b.Hinge, b.Motor, b.Train.Fraction.Ratio, b.Train.Pairs.Count, b.Microsteps);

    // The best of a kind that read and compile, at most as many as an answer has.
    private static List<RankedBuild> Sound(
        PartsBox box, BuildJudge judge, Kind kind, Func<Candidate, BuildOption> option, ref string rejected)
    {
        var sound = new List<RankedBuild>();
        foreach (Candidate candidate in kind.Best)
        {
            BuildOption build = option(candidate);
            string text = BuildRigFile.Text(box, build);
            try
            {
                RigDrive.Compile(RigReader.Read("design", text), 0);
                sound.Add(new RankedBuild(build, Judge(judge, build), text));
            }
            catch (RigFileException e)
            {
                rejected = e.Message;
            }

            if (sound.Count == Answers)
            {
                break;
            }
        }

        return sound;
    }

    private static Kind KindOf(List<Kind> kinds, HingeOption hinge, int motor)
    {
        Kind? kind = kinds.Find(k => k.Rod == hinge.Rod && k.Form == hinge.Form && k.Motor == motor);
        if (kind == null)
        {
            kind = new Kind(hinge.Rod, hinge.Form, motor);
            kinds.Add(kind);
        }

        return kind;
    }

    private readonly record struct Candidate(double Cost, int Hinge, int Motor, int Train, int Microsteps);

    // The best builds of one rod, form and motor, each with another train.
    private sealed record Kind(RodPart Rod, string Form, int Motor)
    {
        public List<Candidate> Best { get; } = [];

        public void Offer(Candidate c)
        {
            if (Best.Count == Tries && !(c.Cost < Best[^1].Cost))
            {
                return;
            }

            int same = Best.FindIndex(b => b.Train == c.Train);
            if (same >= 0)
            {
                if (!(c.Cost < Best[same].Cost))
                {
                    return;
                }

                Best.RemoveAt(same);
            }

            int at = Best.FindIndex(b => c.Cost < b.Cost);
            Best.Insert(at < 0 ? Best.Count : at, c);
            if (Best.Count > Tries)
            {
                Best.RemoveAt(Tries);
            }
        }
    }
}
