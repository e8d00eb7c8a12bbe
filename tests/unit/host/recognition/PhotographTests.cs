using System.Collections.Concurrent;
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
/// Star Catalogue, found by SEP), and an independent fit of it with the lens's axis (fit_fixed_24mm.py
/// there).</summary>
public class PhotographTests(ITestOutputHelper output)
{
    // To these the table is trusted.
    private const double CentreDeg = 0.03, FocalPx = 3, K1 = 0.01;

    // An independent fit with the same model, to half the stars, comes this near.
    private const double SameDeg = 0.006, SamePx = 0.6, SameK1 = 0.002;

    private static readonly ConcurrentDictionary<string, (ImageStar[] Stars, int Width, int Height)> _found = [];

    /// <summary>Without any hint. The table's centres are another test's, because its model has no axis.</summary>
    [Fact]
    public void Frames_of_the_fixed_camera_are_recognised()
    {
        string[] rows = [.. File.ReadLines(RepositoryFile.Path("tests/reference/photographs/fixed-24mm-fit.csv"))
            .Skip(1)];
        Reference[] table = References(rows, "table"), fits = References(rows, "axis");
        int focals = 0, k1S = 0;
        for (int i = 0; i < table.Length; i++)
        {
            RecognizedField field = Recognize($"fixed-24mm/frame-{i + 1}.jpg")!;
            FieldProjection p = field.Projection;
            output.WriteLine($"frame {i + 1}: {field.Matches.Count} matches, {field.RmsPx:0.00} px, ln B "
                + $"{field.LogBayesFactor:0}; centre off the fit by {Off(p, fits[i]):0.000} deg, off the table by "
                + $"{Off(p, table[i]):0.000}; focal length {p.FocalLengthPx:0.0} ± {field.FocalLengthSigmaPx:0.0} px "
                + $"(fit {fits[i].FocalPx}, table {table[i].FocalPx}), k1 {p.Lens.K1:0.0000} ± {field.K1Sigma:0.0000} "
                + $"(fit {fits[i].K1}, table {table[i].K1}), axis {p.Axis.X:0.0} {p.Axis.Y:0.0}");
            Assert.InRange(Off(p, fits[i]), 0, SameDeg);
            Assert.Equal(fits[i].FocalPx, p.FocalLengthPx, SamePx);
            Assert.Equal(fits[i].K1, p.Lens.K1, SameK1);
            Assert.Equal(fits[i].AxisXPx, p.Axis.X, 2.0);
            Assert.Equal(fits[i].AxisYPx, p.Axis.Y, 2.0);
            // The table, wherever the independent fit says the same within the limit.
            if (Math.Abs(fits[i].FocalPx - table[i].FocalPx) < FocalPx)
            {
                Assert.InRange(p.FocalLengthPx, table[i].FocalPx - FocalPx, table[i].FocalPx + FocalPx);
                focals++;
            }

            if (Math.Abs(fits[i].K1 - table[i].K1) < K1)
            {
                Assert.InRange(p.Lens.K1, table[i].K1 - K1, table[i].K1 + K1);
                k1S++;
            }

            Assert.False(p.Mirrored);
        }

        output.WriteLine($"of the table's six: {focals} focal lengths, {k1S} k1 agree");
        Assert.True(focals == 6 && k1S >= 5);
    }

    /// <summary>The table's model, with the lens's axis at the frame's centre, finds the table's centres: they differ
    /// from those above by the model.</summary>
    [Fact]
    public void With_the_axis_at_the_centre_the_table_is_repeated()
    {
        Reference[] table = References([.. File.ReadLines(
            RepositoryFile.Path("tests/reference/photographs/fixed-24mm-fit.csv")).Skip(1)], "table");
        int repeated = 0;
        for (int i = 0; i < table.Length; i++)
        {
            FieldProjection p = Recognize($"fixed-24mm/frame-{i + 1}.jpg",
                new FieldHint { Axis = OpticalAxis.Centre })!.Projection;
            output.WriteLine($"frame {i + 1}: centre off by {Off(p, table[i]):0.000} deg, focal length "
                + $"{p.FocalLengthPx:0.0} (table {table[i].FocalPx}), k1 {p.Lens.K1:0.000} (table {table[i].K1})");
            // The camera stood still: a centre of the table that did not is not repeated.
            if (table[i].OffMeanDeg < CentreDeg)
            {
                Assert.InRange(Off(p, table[i]), 0, CentreDeg);
                repeated++;
            }
        }

        Assert.Equal(5, repeated);
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

    private static double Off(FieldProjection field, Reference truth) =>
        field.Centre.SeparationFrom(truth.Centre).Degrees;

    private static Reference[] References(string[] rows, string model) => [.. rows.Select(r => r.Split(','))
        .Where(c => c[0] == model).Select(c => new Reference(
            new Equatorial(Angle.FromDegrees(Parse(c[2])), Angle.FromDegrees(Parse(c[3]))), Parse(c[4]), Parse(c[5]),
            Parse(c[7]), Parse(c[8]), Parse(c[11])))];

    private static RecognizedField? Recognize(string file, FieldHint? hint = null)
    {
        (ImageStar[] stars, int width, int height) = _found.GetOrAdd(file, Find);
        return FieldRecognizer.Recognize(stars, width, height, hint);
    }

    private static (ImageStar[] Stars, int Width, int Height) Find(string file)
    {
        string path = RepositoryFile.Path("tests/reference/photographs/" + file);
        Assert.True(FrameReader.TryRead(path, FrameOverrides.None, out Frame? frame, out string refusal), refusal);
        using Frame held = frame;
        StarField found = StarFinder.Find(frame.Image);
        return ([.. found.Stars.Select(s => new ImageStar(s.X, s.Y, s.Flux, s.CentroidSigmaPx))], found.Width,
            found.Height);
    }

    private static double Parse(string text) => double.Parse(text, CultureInfo.InvariantCulture);

    private sealed record Reference(Equatorial Centre, double FocalPx, double K1, double AxisXPx, double AxisYPx,
        double OffMeanDeg);
}
