using System.Diagnostics;
using System.Text.Json;
using Hourhinge.Tests.Host.Calibration.Stars;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Host.App.Frames;

/// <summary>A folder in which files that would unpack to gigabytes, never open, or are cut short stand between good
/// frames: each is one line, and the good ones are graded as if they were alone.</summary>
public sealed class DamagedBatchTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-batch-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Fact]
    public void A_bad_frame_is_one_line_and_never_the_end_of_the_run()
    {
        FewFrames.Write(_folder, [0, 0.2, 1.1, 4]);
        JsonElement alone = Grade(expected: 4);
        byte[] good = File.ReadAllBytes(Directory.GetFiles(_folder, "*.fits").Order(StringComparer.Ordinal).First());
        File.WriteAllBytes(Path.Combine(_folder, "night_000.fits"), good[..(good.Length / 2)]);
        File.WriteAllBytes(Path.Combine(_folder, "night_002a.png"),
            DamagedFiles.Png(8, 8, ("zTXt", DamagedFiles.PackedZeros("k\0\0"u8, 256))));
        File.WriteAllBytes(Path.Combine(_folder, "night_002b.tif"), DamagedFiles.Tiff(60000, 60000));
        File.WriteAllBytes(Path.Combine(_folder, "night_002c.jpg"), [0xFF, 0xD8, 0xFF]);
        File.WriteAllBytes(Path.Combine(_folder, "night_005.png"), []);
        int bad = 5;
        if (!OperatingSystem.IsWindows())
        {
            Process.Start("mkfifo", [Path.Combine(_folder, "night_006.fits")]).WaitForExit();
            bad++;
        }

        JsonElement mixed = Grade(expected: 4 + bad);
        string[] graded = [.. Good(mixed)];
        Assert.Equal(Good(alone), graded);
        Assert.Equal(bad, mixed.GetProperty("frames").GetArrayLength() - graded.Length);
    }

    private JsonElement Grade(int expected)
    {
        (int code, string text, string error) = Tool.Run("frames", _folder, "--no-state", "--json");
        Assert.True(code == 0, error);
        JsonElement json = JsonDocument.Parse(text).RootElement;
        Assert.Equal(expected, json.GetProperty("frames").GetArrayLength());
        return json;
    }

    // A frame that could not be read has no stars; its line gives the reason.
    private static IEnumerable<string> Good(JsonElement json) => json.GetProperty("frames").EnumerateArray()
        .Where(f => f.GetProperty("stars").ValueKind == JsonValueKind.Number && f.GetProperty("stars").GetInt32() > 0)
        .Select(f => f.GetProperty("name").GetString() + " " + f.GetProperty("grade").GetString());
}
