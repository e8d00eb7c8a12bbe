// A run's frame recognised on the sky, for the directions and the scale of its trails.

using Hourhinge.Frames.Grading;
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.App.Frames;

/// <summary>The recognised frame.</summary>
/// <param name="Name">Its file.</param>
/// <param name="ArcsecPerPx">Scale on the lens's axis.</param>
/// <param name="Sky">What grading needs of it.</param>
internal sealed record SkyOnFrames(string Name, double ArcsecPerPx, KnownSky Sky)
{
    // Frames that are tried: those with the most stars.
    private const int Tried = 3;

    /// <summary>Recognises one frame of a run with the rig's lenses, measured where they are, and else without a
    /// hint.</summary>
    /// <returns>Null where none is recognised.</returns>
    public static SkyOnFrames? Of(IReadOnlyList<FrameMeasures> run, RigDescription rig)
    {
        foreach (FrameMeasures frame in run.Where(f => f.Error.Length == 0 && f.WidthPx > 0)
            .OrderByDescending(f => f.Stars).Take(Tried))
        {
            ImageStar[] stars = [.. StarMarks.Unpack(frame.Marks).Where(m => m.Flux > 0)
                .Select(m => new ImageStar(m.X, m.Y, m.Flux))];
            foreach (FieldHint hint in Hints(rig, frame))
            {
                if (FieldRecognizer.Recognize(stars, frame.WidthPx, frame.HeightPx, hint) is { } field)
                {
                    return From(frame.Name, field.Projection);
                }
            }
        }

        return null;
    }

    // The rig's lenses on frames of the camera's size, or on reduced ones, which have larger pixels.
    private static IEnumerable<FieldHint> Hints(RigDescription rig, FrameMeasures frame)
    {
        if (rig.Camera is { } camera)
        {
            double reduced = Math.Max(camera.WidthPx, camera.HeightPx)
                / (double)Math.Max(frame.WidthPx, frame.HeightPx);
            foreach (double marked in camera.LensesMm)
            {
                LensData? measured = rig.MeasuredLens(marked);
                yield return new FieldHint
                {
                    FocalLengthPx = (measured?.FocalLengthMm ?? marked) * 1000 / (camera.PixelUm * reduced),
                    FocalLengthTolerance = measured is null ? 0.1 : 0.02,
                    Lens = measured is null ? null : new LensDistortion(measured.K1, measured.K2),
                };
            }
        }

        yield return new FieldHint();
    }

    private static SkyOnFrames From(string name, FieldProjection field)
    {
        Vector3 centre = field.Centre.ToVector();
        FramePoint moved =
            field.ToPixel(Rotation.About(Vector3.UnitZ, new Angle(-SkyRate.SiderealRadPerSec)).Apply(centre))!.Value;
        double x = moved.X - field.CentreX, y = moved.Y - field.CentreY;
        (double X, double Y)? Undistorted(double column, double row) =>
            field.ToDirection(new FramePoint(column, row)) is { } direction
                && field.Ideal().ToPixel(direction) is { } place ? (place.X, place.Y) : null;
        return new SkyOnFrames(name, new Angle(1 / field.FocalLengthPx).Arcseconds,
            new KnownSky(Math.Atan2(y, x), Math.Sqrt((x * x) + (y * y)), Undistorted));
    }
}
