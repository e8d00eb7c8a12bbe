// One exposure cut into steps so short that no star moves 0.2 px within one; the steps are shared by all stars.

using Hourhinge.Numerics;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Starfield.Geometry;

/// <summary>The actual relative motion of sky and camera within one exposure.</summary>
public sealed class ExposurePath
{
    /// <summary>Greatest motion of any star within one step, px.</summary>
    public const double MaxStepPx = 0.2;

    // Aim shorter than the promise: refraction and distortion are left out when the steps are chosen.
    private const double AimPx = 0.15;
    // First cut, so that a wobble of the mechanism cannot hide between two samples.
    private const double FirstStepSeconds = 0.5;
    // A jump (a bump, a lost step) cannot be divided; steps stop shrinking here.
    private const double ShortestStepSeconds = 1e-3;

    private readonly DiurnalMotion _sky;
    private readonly Sensor _sensor;
    private readonly Step[] _steps;
    private readonly Step _first, _last;

    private readonly record struct Step(double WeightSeconds, Rotation StarToHorizon, Rotation HorizonToCamera);

    /// <summary>
    /// Given: scene with its sky and camera; start of the exposure in seconds since the scene's start; length in
    /// seconds, 0.001 to 7200. Transparency of the air goes into the weights of the steps.
    /// </summary>
    public ExposurePath(Scene scene, DiurnalMotion sky, BoardCamera camera, double startSeconds, double exposureSeconds)
    {
        ArgumentNullException.ThrowIfNull(scene);
        ArgumentNullException.ThrowIfNull(camera);
        Check.Range(exposureSeconds, 0.001, 7200, "Exposure (s)");
        ArgumentNullException.ThrowIfNull(sky);
        _sky = sky;
        _sensor = scene.Sensor;
        Lens = scene.LensAt(startSeconds);
        double end = startSeconds + exposureSeconds;
        Step At(double t, double weight) => new(weight, sky.StarToHorizon(t), camera.HorizonToCamera(t));
        _first = At(startSeconds, 0);
        _last = At(end, 0);
        Vector3[] probes = ProbeDirections();

        var cuts = new SortedSet<double> { startSeconds, end };
        int first = Math.Max(1, (int)Math.Ceiling(exposureSeconds / FirstStepSeconds));
        for (int i = 1; i < first; i++)
        {
            cuts.Add(startSeconds + (exposureSeconds * i / first));
        }

        cuts.UnionWith(scene.Disturbances.Bumps.Select(b => b.AtSeconds).Where(t => t > startSeconds && t < end));

        var steps = new List<Step>();
        var open = new Stack<(double From, double To)>();
        foreach ((double from, double to) in cuts.Zip(cuts.Skip(1)).Reverse())
        {
            open.Push((from, to));
        }

        while (open.TryPop(out (double From, double To) span))
        {
            double length = span.To - span.From, middle = span.From + (length / 2);
            // A bump belongs to the step that it begins, so the end is looked at just before it is reached.
            if (length > ShortestStepSeconds
                && Moved(probes, At(span.From, 0), At(span.To - Math.Min(1e-6, length / 4), 0)) > AimPx)
            {
                open.Push((middle, span.To));
                open.Push((span.From, middle));
                continue;
            }
            double clear = scene.Disturbances.Cloud is { } cloud ? Math.Clamp(cloud(middle), 0, 1) : 1;
            steps.Add(At(middle, length * clear));
        }
        _steps = steps.ToArray();
    }

    /// <summary>The lens on the camera when the exposure began; it stays for all of it.</summary>
    public Lens Lens { get; }

    /// <summary>Number of steps.</summary>
    public int StepCount => _steps.Length;

    /// <summary>
    /// Follows a star through the exposure. Given: its unit vector in star coordinates; a list that is filled with its
    /// places and the seconds of clear sky spent at each. Returned: false where it is not in view all the time.
    /// </summary>
    public bool Trace(Vector3 star, List<(PixelPoint At, double Seconds)> places)
    {
        ArgumentNullException.ThrowIfNull(places);
        places.Clear();
        foreach (Step step in _steps)
        {
            if (Pixel(star, step) is not { } p)
            {
                return false;
            }

            places.Add((p, step.WeightSeconds));
        }
        return true;
    }

    /// <summary>Where a star falls when the exposure begins, px; null where it is not in view.</summary>
    public PixelPoint? Begin(Vector3 star) => Pixel(star, _first);

    /// <summary>Where a star falls when the exposure ends, px; null where it is not in view.</summary>
    public PixelPoint? End(Vector3 star) => Pixel(star, _last);

    /// <summary>
    /// Cosine of the angle between a star and the camera's axis, the greatest of beginning, middle and end.
    /// Airless: only for leaving out what is far away.
    /// </summary>
    public double NearestCosine(Vector3 star)
    {
        static double Cosine(Vector3 star, Step s) => s.HorizonToCamera.Row3.Dot(s.StarToHorizon.Apply(star));
        return Math.Max(Cosine(star, _steps[_steps.Length / 2]), Math.Max(Cosine(star, _first), Cosine(star, _last)));
    }

    private PixelPoint? Pixel(Vector3 star, Step step) =>
        _sky.Apparent(step.StarToHorizon.Apply(star)) is { } apparent
            ? BoardCamera.Project(step.HorizonToCamera.Apply(apparent), Lens, _sensor)
            : null;

    // Star coordinates of the corners, edges and middle of the sensor as the exposure begins. A rigid motion moves a
    // corner farthest: the displacement is (nearly) affine over the field and its length therefore convex.
    private Vector3[] ProbeDirections()
    {
        Rotation back = _first.HorizonToCamera.After(_first.StarToHorizon).Inverse();
        var probes = new List<Vector3>();
        for (int i = 0; i <= 2; i++)
        {
            for (int j = 0; j <= 2; j++)
            {
                var pixel = new PixelPoint(i / 2.0 * _sensor.WidthPx, j / 2.0 * _sensor.HeightPx);
                probes.Add(back.Apply(BoardCamera.Direction(pixel, Lens, _sensor)));
            }
        }
        return probes.ToArray();
    }

    private double Moved(Vector3[] probes, Step from, Step to)
    {
        Rotation a = from.HorizonToCamera.After(from.StarToHorizon), b = to.HorizonToCamera.After(to.StarToHorizon);
        double most = 0;
        foreach (Vector3 probe in probes)
        {
            if (BoardCamera.Project(a.Apply(probe), Lens, _sensor) is { } p
                && BoardCamera.Project(b.Apply(probe), Lens, _sensor) is { } q)
            {
                most = Math.Max(most, p.DistanceTo(q));
            }
        }
        return most;
    }
}
