// Many nights drawn at random. HOURHINGE_NIGHTS sets their number: 120 here, 10000 for the full campaign.

using System.Globalization;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic;

public sealed class NightTests(ITestOutputHelper output)
{
    [Fact]
    public void Nothing_that_a_night_brings_breaks_a_promise()
    {
        int nights =
            int.Parse(Environment.GetEnvironmentVariable("HOURHINGE_NIGHTS") ?? "120", CultureInfo.InvariantCulture);
        int first =
            int.Parse(Environment.GetEnvironmentVariable("HOURHINGE_FIRST_NIGHT") ?? "1", CultureInfo.InvariantCulture);
        var counts = new NightCounts();
        var violations = new List<string>();
        for (int seed = first; seed < first + nights && violations.Count < 5; seed++)
        {
            try
            {
                // Three drives in turn: stepper, encoder, open loop.
                if (seed % 3 == 0)
                {
                    new RandomNight(seed, counts).Run();
                }
                else
                {
                    new DcNight(seed, counts).Run();
                }
            }
            catch (InvalidOperationException e)
            {
                violations.Add($"night {seed}: {e.Message}");
            }
        }

        output.WriteLine($"{counts}; {violations.Count} violations");
        Assert.True(violations.Count == 0, string.Join("\n\n", violations));
    }
}
