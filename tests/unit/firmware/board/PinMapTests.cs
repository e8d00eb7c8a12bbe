// One truth about pins: the code, the table and the drawings say the same.

using System.Globalization;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Firmware.Board;

public sealed class PinMapTests
{
    private static readonly Dictionary<string, int> _code = Pins();

    [Fact]
    public void The_table_names_every_pin_of_the_code_and_no_other()
    {
        Dictionary<string, int> table =
            Regex.Matches(Notes("pin-map.md"), @"^\| `(\w+)` \| (\d+) \|", RegexOptions.Multiline)
            .ToDictionary(m => m.Groups[1].Value, m => Number(m.Groups[2].Value));
        Assert.Equal(_code.OrderBy(p => p.Key), table.OrderBy(p => p.Key));
    }

    [Fact]
    public void Every_pin_is_drawn_and_every_drawn_pin_is_right()
    {
        HashSet<string> drawn = [];
        foreach (string file in Directory.GetFiles(NotesFolder("img"), "*.svg"))
        {
            foreach (Match m in Regex.Matches(Text(file), @"GPIO (\d+) (\w+)"))
            {
                string name = m.Groups[2].Value;
                Assert.True(_code.ContainsKey(name), $"{Path.GetFileName(file)} draws an unknown pin {name}.");
                Assert.True(
                    _code[name] == Number(m.Groups[1].Value),
                    $"{Path.GetFileName(file)} draws {name} on GPIO {m.Groups[1].Value}, the code has {_code[name]}.");
                drawn.Add(name);
            }
        }

        Assert.Equal(_code.Keys.Order(), drawn.Order());
    }

    [Fact]
    public void No_pin_is_used_twice_and_none_is_one_that_the_module_keeps()
    {
        Assert.Equal(_code.Count, _code.Values.Distinct().Count());

        // ESP32 Series Datasheet, "Strapping Pins"; ESP-IDF "GPIO & RTC GPIO" (flash); SoC Errata GPIO-3.11 (36, 39).
        int[] kept = [0, 2, 5, 12, 15, 1, 3, 6, 7, 8, 9, 10, 11, 36, 39];
        Assert.Empty(_code.Values.Intersect(kept));

        // Input-only pins (the same datasheet): never an output, and no internal pull-up for the button.
        int[] inputOnly = [34, 35, 36, 37, 38, 39];
        string[] inputs = ["SupplySense", "EndSwitch", "HomeSwitch", "EncoderA", "EncoderB", "SerialReceive"];
        Assert.All(_code.Where(p => inputOnly.Contains(p.Value)), p => Assert.Contains(p.Key, inputs));
    }

    [Fact]
    public void Every_part_in_a_drawing_is_in_the_list_of_parts()
    {
        string parts = Notes("parts.md");
        int seen = 0;
        foreach (string file in Directory.GetFiles(NotesFolder("img"), "*.svg"))
        {
            foreach (XElement text in XDocument.Load(file).Descendants().Where(e => e.Name.LocalName == "text"))
            {
                Match m = Regex.Match(text.Value, @"^(R\d+|C\d+|D\d+|Q\d+|F\d+|S\d+|U\d+|LED\d+)(?![\w,])");
                if (m.Success)
                {
                    seen++;
                    Assert.True(
                        Regex.IsMatch(parts, $@"\b{m.Value}\b"), $"{Path.GetFileName(file)}: {m.Value} is in no list.");
                }
            }
        }

        Assert.True(seen > 20);
    }

    [Fact]
    public void Every_link_and_picture_of_the_notes_leads_somewhere()
    {
        foreach (string file in Directory.GetFiles(NotesFolder(""), "*.md"))
        {
            foreach (Match m in Regex.Matches(File.ReadAllText(file), @"\]\(([^)#]+)(#[^)]*)?\)"))
            {
                string target = Path.Combine(Path.GetDirectoryName(file)!, m.Groups[1].Value);
                Assert.True(File.Exists(target),
                    $"{Path.GetFileName(file)} links to {m.Groups[1].Value}, which is not there.");
            }
        }
    }

    private static Dictionary<string, int> Pins()
    {
        // Pins only: the numbers that are not GPIO numbers are named here.
        string[] others =
        [
            "SupplyAdcChannel", "SupplyFullScaleMillivolts", "SupplyZeroMillivolts", "SupplyMinMillivolts",
            "MotorPwmHertz",
        ];
        string source = File.ReadAllText(Path.Combine(RepositoryFile.Root, "firmware/board/BoardPins.cs"));
        return Regex.Matches(source, @"public const int (\w+) = (\d+);")
            .Where(m => !others.Contains(m.Groups[1].Value))
            .ToDictionary(m => m.Groups[1].Value, m => Number(m.Groups[2].Value));
    }

    private static int Number(string text) => int.Parse(text, CultureInfo.InvariantCulture);

    private static string Text(string svg) =>
        string.Join('\n',
            XDocument.Load(svg).Descendants().Where(e => e.Name.LocalName == "text").Select(e => e.Value));

    private static string NotesFolder(string folder) => Path.Combine(RepositoryFile.Root, "hardware-notes", folder);

    private static string Notes(string file) => File.ReadAllText(NotesFolder(file));
}
