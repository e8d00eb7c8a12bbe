using System.Globalization;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Stars;
using Hourhinge.Tests.Support;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Recognition;

/// <summary>Photographs by others, with the truth of tests/reference/photographs/README.md (stars of the Yale Bright
/// Star Catalogue, found by SEP).</summary>
public class PhotographTests(ITestOutputHelper output)
{
    /// <summary>Without any hint.</summary>
    [Fact]
    public void Frames_of_the_fixed_camera_are_recognised()
    {
        string[] rows = [.. File.ReadLines(RepositoryFile.Path("tests/reference/photographs/README.md"))
            .Where(l => l.StartsWith("| ", StringComparison.Ordinal) && char.IsDigit(l[2]))];
        Assert.Equal(6, rows.Length);
        double tableK1 = rows.Average(r => Number(r, 5));
        foreach (string row in rows)
        {
            RecognizedField field = Recognize($"fixed-24mm/frame-{row[2]}.jpg")!;
            string[] centre = row.Split('|')[3].Split(',');
            var truth = new Equatorial(Angle.FromDegrees(Parse(centre[0])), Angle.FromDegrees(Parse(centre[1])));
            Angle off = field.Projection.Centre.SeparationFrom(truth);
            output.WriteLine($"frame {row[2]}: centre off by {off.Degrees:0.000} deg, focal length "
                + $"{field.Projection.FocalLengthPx:0.0} ± {field.FocalLengthSigmaPx:0.0} px (table {Number(row, 4)}), "
                + $"k1 {field.Projection.Lens.K1:0.000} ± {field.K1Sigma:0.000} (table {Number(row, 5)}), "
                + $"k2 {field.Projection.Lens.K2:0.000} (table {Number(row, 6)}), {field.Matches.Count} matches, "
                + $"{field.RmsPx:0.00} px, ln B {field.LogBayesFactor:0}");
            // A camera that stands still sees one declination: the table's frame 5 lies 0.04 off the others'.
            Assert.InRange(off.Degrees, 0, row[2] == '5' ? 0.045 : 0.03);
            // The table trusts 3 px where frames 1 to 5 agree; its frame 6 lies 2 px off their mean, k1 likewise.
            double tolerancePx = row[2] == '6' ? 4 : 3;
            Assert.InRange(field.Projection.FocalLengthPx, Number(row, 4) - tolerancePx, Number(row, 4) + tolerancePx);
            // One lens took all six: the table's k1 scatters by 0.008 from frame to frame.
            Assert.InRange(field.Projection.Lens.K1, tableK1 - 0.015, tableK1 + 0.015);
            Assert.False(field.Projection.Mirrored);
        }
    }

    /// <summary>The bright stars of Ursa Minor and of the Plough are in near-pole.jpg where the field says.</summary>
    [Fact]
    public void The_frame_near_the_pole_is_recognised_rightly_or_not()
    {
        RecognizedField? field = Recognize("single/near-pole.jpg");
        if (field is not null)
        {
            int[] bright = [11767, 72607, 75097, 54061, 62956];
            Assert.All(bright, hip => Assert.Contains(field.Matches,
                m => StarCatalogue.Stars[m.CatalogueIndex].Hip == hip && m.ResidualPx < 5));
        }
    }

    /// <summary>0.05 s and some tens of stars; a lens beyond the gnomonic projection: nothing is said.</summary>
    [Theory]
    [InlineData("single/short-exposure.png")]
    [InlineData("single/all-sky.jpg")]
    public void The_other_frames_are_never_recognised_wrongly(string file) => Assert.Null(Recognize(file));

    private static RecognizedField? Recognize(string file)
    {
        string path = RepositoryFile.Path("tests/reference/photographs/" + file);
        Assert.True(FrameReader.TryRead(path, FrameOverrides.None, out Frame? frame, out string refusal), refusal);
        using (frame)
        {
            StarField found = StarFinder.Find(frame.Image);
            return FieldRecognizer.Recognize(
                [.. found.Stars.Select(s => new ImageStar(s.X, s.Y, s.Flux, s.CentroidSigmaPx))],
                found.Width, found.Height);
        }
    }

    private static double Number(string row, int column) => Parse(row.Split('|')[column]);

    private static double Parse(string text) => double.Parse(text, CultureInfo.InvariantCulture);
}
