using BenchmarkDotNet.Attributes;
using Hourhinge.Planning.Parts;

namespace Hourhinge.Benchmarks;

/// <summary>The search of `hourhinge design`: about a million combinations.</summary>
[MemoryDiagnoser]
public class DesignBenchmarks
{
    private PartsBox _box = null!;

    [GlobalSetup]
    public void Load()
    {
        string? at = AppContext.BaseDirectory;
        while (at != null && !File.Exists(Path.Combine(at, "Hourhinge.slnx")))
        {
            at = Path.GetDirectoryName(at);
        }

        _box = PartsReader.ReadFile(Path.Combine(at!, "host", "examples", "parts", "wheatear.toml"));
        Console.WriteLine($"// {Search().Combinations} combinations");
    }

    [Benchmark]
    public SearchResult Search() => BuildSearch.Run(_box, (_, _) => { }, CancellationToken.None);
}
