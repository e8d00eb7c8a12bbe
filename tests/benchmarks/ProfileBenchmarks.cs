using BenchmarkDotNet.Attributes;
using Hourhinge.Rehearsal.Tracking;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Benchmarks;

/// <summary>Compile, evaluate, decode and rehearse the worked rigs.</summary>
[MemoryDiagnoser]
public class ProfileBenchmarks
{
    private readonly ProfileCodec _codec = new();
    private Rig.RigDescription _rig = null!;
    private byte[] _file = null!;
    private CompiledDrive _drive = null!;
    private ProfileEvaluator _evaluator = null!;
    private long _timeUs;

    /// <summary>The worked rigs.</summary>
    [Params("straight-quarter-twenty", "bent-m6-geared", "fixed-rod-offset")]
    public string Example { get; set; } = "";

    [GlobalSetup]
    public void Load()
    {
        string? at = AppContext.BaseDirectory;
        while (at != null && !File.Exists(Path.Combine(at, "Hourhinge.slnx")))
        {
            at = Path.GetDirectoryName(at);
        }

        _rig = RigReader.ReadFile(Path.Combine(at!, "host", "examples", Example + ".toml"), out _file);
        _drive = RigDrive.Compile(_rig, 0);
        _evaluator = new ProfileEvaluator(_drive.Profile);
    }

    [Benchmark]
    public CompiledDrive Compile() => RigDrive.Compile(_rig, 0);

    [Benchmark]
    public long EvaluateOnce()
    {
        _timeUs = _timeUs < _evaluator.EndUs ? _timeUs + 1000 : 0;
        return _evaluator.PositionQ16(_timeUs);
    }

    [Benchmark]
    public DriveProfile? Decode() => _codec.Decode(_drive.Bytes, 0, _drive.Bytes.Length);

    [Benchmark]
    public RehearsalResult RehearseOneHour() =>
    new TrackingRehearsal(_rig, _drive, _file, new RehearsalOptions()).Run();
}
