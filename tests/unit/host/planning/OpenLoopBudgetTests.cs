using System.Text.Json;
using Hourhinge.Tests.Host.App;

namespace Hourhinge.Tests.Host.Planning;

/// <summary>The blur that the budget states for a motor without an encoder, against the firmware's drive on a virtual
/// motor that knows nothing of the budget.</summary>
public sealed class OpenLoopBudgetTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-open-loop-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Fact]
    public void The_stated_blur_of_a_minute_is_that_of_the_worst_rehearsed_minute()
    {
        string rig = Path.Combine(_folder, "rig.toml");
        Assert.Equal(0, Tool.Run("rig", "new", rig, "--drive", "dc").Code);
        File.AppendAllText(rig, """

            [camera]
            pixel_um = 4.3
            width_px = 6000
            height_px = 4000
            lenses_mm = [85]

            [site]
            name = "the ridge"
            latitude_deg = 42
            longitude_deg = 3
            """);
        (int code, string text, string error) =
            Tool.Run("budget", rig, "--exposure", "60", "--dec", "0", "--json");
        Assert.True(code is 0 or 1, error);
        double stated = JsonDocument.Parse(text).RootElement.GetProperty("sources").EnumerateArray()
            .Single(s => s.GetProperty("key").GetString() == "open-loop").GetProperty("blur_arcsec").GetDouble();

        (_, text, _) = Tool.Run("rehearse", rig, "--minutes", "45", "--json");
        JsonElement run = JsonDocument.Parse(text).RootElement;
        double[] minutes = [.. run.GetProperty("minute").EnumerateArray().Select(v => v.GetDouble())];
        double[] errors = [.. run.GetProperty("error_arcsec").EnumerateArray().Select(v => v.GetDouble())];
        double worst = 0;
        for (int first = 0; minutes[first] <= minutes[^1] - 1; first++)
        {
            double[] within = [.. errors.Skip(first).Where((_, i) => minutes[first + i] <= minutes[first] + 1)];
            worst = Math.Max(worst, within.Max() - within.Min());
        }

        Assert.InRange(stated, 0.7 * worst, 1.5 * worst);
    }
}
