using System.CommandLine;
using System.Globalization;
using Hourhinge.App;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.App.Campaigns;

/// <summary>Mutated command lines: no stack trace, and no number read as another number. HOURHINGE_TYPING=100000 for
/// all of them.</summary>
public class TypingCampaign(ITestOutputHelper output)
{
    private static readonly string _rig = Tool.Example("straight-quarter-twenty");

    // A command with the arguments that it needs, quick enough to be run.
    private static readonly string[][] _quick =
    [
        ["rig", "check", _rig], ["profile", _rig], ["budget", _rig], ["night", "--target", "M31", "--rig", _rig],
        ["device", "status", "--to", "tcp:127.0.0.1:1"], ["upload", _rig, "--to", "tcp:127.0.0.1:1"],
    ];

    // Commands that are parsed only: they take long, or need frames.
    private static readonly string[][] _slow =
    [
        ["rehearse", _rig], ["rehearse", _rig, "--frames", "never-made"], ["rehearse", "--serve"], ["frames", "."],
        ["calibrate", "stars", _rig, "."], ["calibrate", "rod", _rig, "--data", "x.csv"],
        ["calibrate", "turns", _rig, "--data", "x.csv"], ["calibrate", "turns", _rig, "--stopwatch"],
    ];

    [Fact]
    public void No_trace_and_no_number_misread()
    {
        int count = int.Parse(Environment.GetEnvironmentVariable("HOURHINGE_TYPING") ?? "3000",
            CultureInfo.InvariantCulture);
        int seed = int.Parse(Environment.GetEnvironmentVariable("HOURHINGE_TYPING_SEED") ?? "1",
            CultureInfo.InvariantCulture);
        var random = new Random(seed);
        RootCommand root = Program.CreateRoot();
        var wrong = new List<string>();
        int accepted = 0, refused = 0, ran = 0, compared = 0;
        var timid = new List<string>();
        for (int i = 0; i < count && wrong.Count < 20; i++)
        {
            bool quick = random.Next(2) == 0;
            string[] start = quick ? _quick[random.Next(_quick.Length)] : _slow[random.Next(_slow.Length)];
            string[] args = Mutated(root, start, random);
            string shown = string.Join(' ', args.Select(a => $"⟨{a}⟩"));
            try
            {
                ParseResult parsed = Program.Parse(root, args);
                if (UsageError.Of(parsed) is { } sentence)
                {
                    refused++;
                    timid.AddRange(Timid(parsed.CommandResult.Command, args, sentence));
                    if (sentence.Contains("   at ", StringComparison.Ordinal)
                        || sentence.Contains("System.", StringComparison.Ordinal))
                    {
                        wrong.Add($"{shown}: {sentence}");
                    }

                    continue;
                }

                accepted++;
                // Who asks for help is not refused, and nothing is read.
                compared += parsed.Action is System.CommandLine.Help.HelpAction ? 0 : Compare(parsed, shown, wrong);
                if (quick && parsed.Action != null && ran++ % 20 == 0)
                {
                    Check(args, shown, wrong);
                }
            }
            catch (Exception e) when (e is not Xunit.Sdk.XunitException)
            {
                wrong.Add($"{shown}: {e}");
            }
        }

        output.WriteLine($"{count} command lines: {refused} refused, {accepted} accepted, {compared} numbers compared, "
            + $"{(ran + 19) / 20} run; {timid.Count} refusals of a number that the second reading finds in order; "
            + $"{wrong.Count} wrong");
        Assert.True(wrong.Count == 0, string.Join("\n", wrong));
        Assert.True(compared > count / 20 && refused > count / 20, $"{compared} compared, {refused} refused");
        Assert.True(timid.Count == 0, string.Join("\n", timid.Take(20)));
    }

    [Theory]
    [InlineData("1,5", "s", null)]
    [InlineData("1.5 min", "s", 90.0)]
    [InlineData("9 1/16 in", "mm", 230.1875)]
    [InlineData("1e3", "s", 1000.0)]
    [InlineData("1h30m", "s", null)]
    [InlineData("f/4", "f/", 4.0)]
    [InlineData("1 000", "s", null)]
    public void The_second_reading_itself(string typed, string unit, double? expected) =>
        Assert.Equal(expected, TypedNumbers.Read(typed, unit));

    // Runs it: an exit code of the four, no trace, and something to read.
    private static void Check(string[] args, string shown, List<string> wrong)
    {
        (int code, string text, string error) = Tool.Run(args);
        if (code is < 0 or > 3 || (text + error).Contains("   at Hourhinge", StringComparison.Ordinal)
            || text.Length + error.Length == 0)
        {
            wrong.Add($"{shown}: exit code {code}: {error}");
        }
    }

    // Every number that was typed and accepted, against the second reading.
    private static int Compare(ParseResult parsed, string shown, List<string> wrong)
    {
        int compared = 0;
        foreach (Option option in Numbers(parsed.CommandResult.Command))
        {
            if (parsed.GetResult(option) is not { Implicit: false } given || given.Tokens.Count == 0)
            {
                continue;
            }

            compared++;
            string typed = given.Tokens[0].Value;
            double value = option switch
            {
                Option<double> d => parsed.GetValue(d),
                Option<int> n => parsed.GetValue(n),
                _ => parsed.GetValue((Option<double?>)option) ?? double.NaN,
            };
            double? second = TypedNumbers.Read(typed, option.HelpName ?? "");
            if (second is not { } expected || !(Math.Abs(value - expected) <= (1e-12 * Math.Abs(expected)) + 1e-25))
            {
                wrong.Add($"{shown}: {option.Name} ⟨{typed}⟩ is read as {value}, should be {second}");
            }
        }

        return compared;
    }

    // The sentence when a number is refused as no number although the second reading finds one.
    private static IEnumerable<string> Timid(Command command, string[] args, string sentence)
    {
        if (!sentence.Contains("must be a number", StringComparison.Ordinal))
        {
            return [];
        }

        bool isTimid = Numbers(command).Any(o => sentence.StartsWith(o.Name + " ", StringComparison.Ordinal)
            && args.Any(a => TypedNumbers.Read(a, o.HelpName ?? "") != null
                && sentence.StartsWith($"{o.Name} {a}:", StringComparison.Ordinal)));
        return isTimid ? [sentence] : [];
    }

    private static string[] Mutated(RootCommand root, string[] start, Random random)
    {
        List<string> args = [.. start];
        Command command = CommandOf(root, start);
        Option[] numbers = [.. Numbers(command)];
        int more = random.Next(1, 3);
        for (int i = 0; i < more && numbers.Length > 0; i++)
        {
            string name = numbers[random.Next(numbers.Length)].Name;
            string value = random.Next(2) == 0 ? TypedNumbers.Plausible(random)
                : TypedNumbers.Mutate(TypedNumbers.Dictionary[random.Next(TypedNumbers.Dictionary.Length)], random);
            int form = random.Next(10);
            args.AddRange(form == 0 ? [$"{name}={value}"] : form == 1 ? [$"{name}:{value}"] : [name, value]);
        }

        // Some lines have a slip of another kind as well.
        int at = random.Next(args.Count);
        switch (random.Next(12))
        {
            case 0:
                args.RemoveAt(at);
                break;
            case 1:
                args.Insert(at, args[at]);
                break;
            case 2:
                args[at] = TypedNumbers.Mutate(args[at], random);
                break;
            case 3:
                args.Insert(at, TypedNumbers.Dictionary[random.Next(TypedNumbers.Dictionary.Length)]);
                break;
        }

        return [.. args];
    }

    private static Command CommandOf(RootCommand root, string[] start) =>
        start.Aggregate((Command)root, (at, word) => at.Subcommands.FirstOrDefault(c => c.Name == word) ?? at);

    private static IEnumerable<Option> Numbers(Command command) =>
        command.Options.Where(o => o is Option<double> or Option<double?> or Option<int>);
}
