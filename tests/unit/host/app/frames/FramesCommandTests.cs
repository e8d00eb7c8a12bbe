// `hourhinge frames` as a user meets it: exit codes, JSON, list, contact picture, stored measures.
using System.Text.Json;
using Hourhinge.Tests.Host.Calibration.Stars;
using SkiaSharp;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.App.Frames;

public sealed class FramesCommandTests(ITestOutputHelper output) : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-frames-").FullName;

    [Fact]
    public void Keeps_the_round_and_names_the_drive_for_what_trails_along_the_sky()
    {
        FewFrames.Write(_folder, [0, 0.2, 1.1, 4]);
        string list = Path.Combine(_folder, "list.txt");
        (int code, string text, string error) = Tool.Run("frames", _folder, "--sky-angle", "30", "--clock-offset", "10",
            "--exposure", "32", "--list", list, "--json");
        Assert.True(code == 0, error);
        JsonElement json = JsonDocument.Parse(text).RootElement;
        Assert.Equal((2, 1, 1), (json.GetProperty("keep").GetInt32(), json.GetProperty("doubt").GetInt32(),
            json.GetProperty("drop").GetInt32()));
        JsonElement[] frames = [.. json.GetProperty("frames").EnumerateArray()];
        Assert.Equal(["keep", "keep", "doubt", "drop"], frames.Select(f => f.GetProperty("grade").GetString()));
        JsonElement worst = frames[3];
        // The grades lie 0.5 and 2 px apart; an eighth of the trail is enough to distinguish them.
        Assert.InRange(worst.GetProperty("trail_px").GetDouble(), 3.5, 4.5);
        Assert.InRange(worst.GetProperty("trail_angle_deg").GetDouble(), 27, 33);
        Assert.InRange(worst.GetProperty("trail_to_sky_deg").GetDouble(), -3, 3);
        Assert.Contains("along the sky", worst.GetProperty("reason").GetString()!, StringComparison.Ordinal);
        Assert.Equal(32, worst.GetProperty("exposure_s").GetDouble());
        Assert.Equal("2026-10-12T21:12:50.000Z", worst.GetProperty("start_utc").GetString());
        string[][] lines = [.. File.ReadLines(list).Select(l => l.Split('\t'))];
        Assert.Equal(["keep night_001.fits", "keep night_002.fits", "doubt night_003.fits", "drop night_004.fits"],
            lines.Select(l => $"{l[0]} {l[1]}"));
        Assert.All(lines, l => Assert.Equal(3, l.Length));
    }

    [Fact]
    public void The_tables_fit_80_columns()
    {
        FewFrames.Write(_folder, [0, 0.2, 1.1, 4]);
        File.Move(Path.Combine(_folder, "night_004.fits"),
            Path.Combine(_folder, "a_name_that_some_program_has_made_far_too_long_0004.fits"));
        (int code, string text, _) = Tool.Run("frames", _folder, "--no-state");
        output.WriteLine(text);
        Assert.Equal(0, code);
        Assert.All(text.Split('\n'), l => Assert.True(l.TrimEnd().Length <= 80, l));
        Assert.Contains("Keep 2 of 4 frames; look at 1; drop 1.", text, StringComparison.Ordinal);
        Assert.False(File.Exists(Path.Combine(_folder, ".hourhinge-frames.jsonl")));
    }

    [Fact]
    public void Shortened_names_never_look_alike_and_what_is_no_frame_is_named()
    {
        FewFrames.Write(_folder, [0, 0.2, 0.1]);
        for (int i = 1; i <= 3; i++)
        {
            // Same beginning, same end.
            File.Move(Path.Combine(_folder, $"night_{i:D3}.fits"),
                Path.Combine(_folder, $"my_very_long_session_name_{i}_light_exposure_30s.fits"));
        }

        File.WriteAllText(Path.Combine(_folder, "dump.bin"), "clear");
        File.WriteAllText(Path.Combine(_folder, "z.heic"), "x");
        (int code, string text, _) = Tool.Run("frames", _folder, "--no-state");
        output.WriteLine(text);
        Assert.Equal(0, code);
        string[] names = [.. text.Split('\n').Select(l => l.Trim().Split(' ')[0])
            .Where(n => n.Contains("30s.fits", StringComparison.Ordinal))];
        Assert.Equal(3, names.Length);
        Assert.Equal(3, names.Distinct().Count());
        Assert.Contains("dump.bin", text, StringComparison.Ordinal);
        Assert.Contains("HEIC", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Says_1_when_nothing_is_kept_and_2_for_what_is_no_folder_of_frames()
    {
        FewFrames.Write(_folder, [4, 5]);
        Assert.Equal(1, Tool.Run("frames", _folder).Code);
        foreach ((string dir, string[] more, string words) in new[]
        {
            (Path.Combine(_folder, "nowhere"), Array.Empty<string>(), "no such folder"),
            (Directory.CreateDirectory(Path.Combine(_folder, "empty")).FullName, [], "no frames"),
            (_folder, ["--contact", "contact.gif"], "must end with .jpg or .png"),
            (_folder, ["--contact", Path.Combine(_folder, "contact.jpg")], "would read it as a frame"),
            (_folder, ["--html", "page.txt"], "must end with .html"),
            (_folder, ["--state", Path.Combine(_folder, "nowhere", "state")], "--state"),
            (_folder, ["--exposure", "0"], "must be 0.001 to 7200 s"),
        })
        {
            (int code, string text, string error) = Tool.Run(["frames", dir, .. more]);
            Assert.Equal(2, code);
            Assert.Equal("", text);
            Assert.Contains(words, error, StringComparison.Ordinal);
            Assert.Single(error.TrimEnd().Split('\n'));
        }
    }

    [Fact]
    public void A_second_run_measures_only_what_is_new()
    {
        FewFrames.Write(_folder, [0, 0.2]);
        string state = Path.Combine(_folder, ".hourhinge-frames.jsonl");
        Assert.Equal(0, Tool.Run("frames", _folder).Code);
        Assert.Equal(2, File.ReadLines(state).Count());
        // The stored measures are used; the pixels are not read again.
        File.WriteAllText(state,
            File.ReadAllText(state).Replace("\"TooMuch\":false", "\"TooMuch\":true", StringComparison.Ordinal));
        FewFrames.Write(Path.Combine(_folder, "more"), [0.1]);
        File.Move(Path.Combine(_folder, "more", "night_001.fits"), Path.Combine(_folder, "night_003.fits"));
        (int code, string text, _) = Tool.Run("frames", _folder, "--json");
        Assert.Equal(0, code);
        Assert.Equal(["drop", "drop", "keep"], JsonDocument.Parse(text).RootElement.GetProperty("frames")
            .EnumerateArray().Select(f => f.GetProperty("grade").GetString()));
        Assert.Equal(3, File.ReadLines(state).Count());
    }

    [Theory]
    [InlineData("jpg")]
    [InlineData("png")]
    public void The_contact_picture_marks_grades_by_pattern_too(string ending)
    {
        FewFrames.Write(_folder, [0, 1.1, 4]);
        File.WriteAllText(Path.Combine(_folder, "night_damaged.fits"), "SIMPLE  =                    T");
        string path = Path.Combine(_folder, "contact." + ending);
        // The picture must be outside the folder of frames.
        string picture =
            Path.Combine(Directory.CreateDirectory(Path.Combine(_folder, "out")).FullName, Path.GetFileName(path));
        (int code, _, string error) = Tool.Run("frames", _folder, "--contact", picture);
        Assert.True(code == 0, error);
        using SKBitmap bitmap = SKBitmap.Decode(picture);
        // Two across, two down, each 2 x 220 + 16 wide and 146 + 18 + 16 tall; the border's top line lies 2 px above
        // the tile.
        Assert.Equal((2 * 456, 2 * 180), (bitmap.Width, bitmap.Height));
        double Lit(int cell)
        {
            (int left, int top) = ((cell % 2 * 456) + 8, (cell / 2 * 180) + 6);
            return Enumerable.Range(left, 440).Count(x => bitmap.GetPixel(x, top).Green < 130) / 440.0;
        }

        output.WriteLine($"borders lit: {Lit(0):P0} {Lit(1):P0} {Lit(2):P0} {Lit(3):P0}");
        Assert.InRange(Lit(0), 0.98, 1);
        Assert.InRange(Lit(1), 0.4, 0.8);
        Assert.InRange(Lit(2), 0.98, 1);
        // Dropped: crossed out through the middle of the cell.
        Assert.True(bitmap.GetPixel(456 + 8 + 220, 180 + 8 + 73).Green < 130);
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);
}
