using System.Text.RegularExpressions;
using System.Xml.Linq;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Host.App;

/// <summary>The README's pictures: there, made by hardware-notes/pictures/make, and showing what the program draws
/// today.</summary>
public class PictureTests
{
    [Fact]
    public void Every_picture_of_the_README_is_there_and_made_by_the_command()
    {
        string script = File.ReadAllText(RepositoryFile.Path("hardware-notes/pictures/make"));
        string[] shown = [
            .. Regex.Matches(File.ReadAllText(RepositoryFile.Path("README.md")), @"\((hardware-notes/pictures/[^)]+)\)")
            .Select(m => m.Groups[1].Value)];
        Assert.Equal(4, shown.Length);
        Assert.All(shown, p =>
        {
            Assert.True(new FileInfo(RepositoryFile.Path(p)).Length > 1000, p);
            Assert.Contains(Path.GetFileName(p), script, StringComparison.Ordinal);
        });
    }

    [Fact]
    public void The_field_sheet_has_the_words_that_the_program_writes_today()
    {
        string folder = Directory.CreateTempSubdirectory("hourhinge-picture-").FullName;
        try
        {
            (int code, _, string error) = Tool.Run("sheet", Tool.Example("bent-m6-geared"), "--only", "field",
                "--target", "M31", "--date", "2026-11-14", "--svg", Path.Combine(folder, "field.svg"));
            Assert.True(code == 0, error);
            Assert.Equal(Words(Path.Combine(folder, "field-01.svg")),
                Words(RepositoryFile.Path("hardware-notes/pictures/field-sheet.svg")));
        }
        finally
        {
            Directory.Delete(folder, true);
        }
    }

    private static string Words(string svg) =>
        string.Concat(XDocument.Load(svg).Descendants().Where(e => e.Name.LocalName == "text").Select(e => e.Value))
            .Replace(" ", "", StringComparison.Ordinal);
}
