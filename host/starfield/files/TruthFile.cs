// Writes what is true about a sequence of frames, for tests of whatever measures them. An estimator must not read it.

using System.Globalization;
using System.Text.Json;
using Hourhinge.Numerics;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Starfield.Files;

/// <summary>The truth of a sequence: a CSV of stars and a JSON of frames, both growing frame by frame.</summary>
public sealed class TruthFile : IDisposable
{
    private static readonly JsonSerializerOptions _json = new() { WriteIndented = true };
    private readonly StreamWriter _stars;
    private readonly string _framesPath;
    private readonly List<object> _frames = new();
    private object? _scene;

    /// <summary>Creates truth-stars.csv and, when disposed, truth-frames.json in a directory that exists.</summary>
    public TruthFile(string directory)
    {
        _framesPath = Path.Combine(directory, "truth-frames.json");
        _stars = new StreamWriter(Path.Combine(directory, "truth-stars.csv")) { NewLine = "\n" };
        _stars.WriteLine("frame,star,magnitude,x_px,y_px,trail_x_px,trail_y_px,electrons,saturated");
    }

    /// <summary>Adds a frame, with the name of its file and the stamp that went into it.</summary>
    public void Add(RenderedFrame frame, string fileName, CameraClock clock)
    {
        ArgumentNullException.ThrowIfNull(frame);
        ArgumentNullException.ThrowIfNull(clock);
        foreach (StarTruth t in frame.Truth)
        {
            _stars.WriteLine($"{frame.Index},{t.Star.Id},{t.Star.Magnitude:F3},{t.Mean.X:F5},{t.Mean.Y:F5},"
                + $"{t.TrailX:F5},{t.TrailY:F5},{t.Electrons:F1},{(t.Saturated ? 1 : 0)}");
        }
        Scene s = frame.Scene;
        _scene ??= new
        {
            latitude_deg = s.Site.LatitudeDeg,
            longitude_deg = s.Site.LongitudeDeg,
            axis_altitude_error_arcmin = s.Mount.AxisAltitudeErrorArcmin,
            axis_azimuth_error_arcmin = s.Mount.AxisAzimuthErrorArcmin,
            pointing_declination_deg = s.Pointing.DeclinationDeg,
            pointing_hour_angle_deg = s.Pointing.HourAngleDeg,
            pointing_right_ascension_deg = s.Pointing.RightAscensionDeg,
            roll_deg = s.Pointing.RollDeg,
            refraction = s.Refraction is not null,
            seed = s.Seed,
        };
        double end = frame.StartSeconds + frame.ExposureSeconds;
        _frames.Add(new
        {
            frame = frame.Index,
            file = fileName,
            start_utc = frame.StartUtc.ToString("yyyy-MM-ddTHH:mm:ss.fffffffZ", CultureInfo.InvariantCulture),
            stamp_utc = clock.Stamp(frame.StartUtc).ToString("yyyy-MM-ddTHH:mm:ss.fffZ", CultureInfo.InvariantCulture),
            start_s = frame.StartSeconds,
            exposure_s = frame.ExposureSeconds,
            focal_length_mm = frame.Lens.FocalLengthMm,
            arcsec_per_px = new Angle(s.Sensor.PixelPitchMicrometres / 1000 / frame.Lens.FocalLengthMm).Arcseconds,
            hinge_start_arcsec = new Angle(s.Mount.AngleRad(frame.StartSeconds)).Arcseconds,
            hinge_end_arcsec = new Angle(s.Mount.AngleRad(end)).Arcseconds,
            background_electrons = frame.BackgroundElectrons,
            stars = frame.Truth.Count,
        });
    }

    /// <summary>Writes the JSON and closes both files.</summary>
    public void Dispose()
    {
        _stars.Dispose();
        File.WriteAllText(_framesPath,
            JsonSerializer.Serialize(new { scene = _scene, frames = _frames }, _json) + "\n");
    }
}
