// Speed and memory: dotnet run -c Release --project tests/benchmarks -- --filter '*'

using BenchmarkDotNet.Running;

BenchmarkSwitcher.FromAssembly(typeof(Hourhinge.Benchmarks.ProfileBenchmarks).Assembly).Run(args);
