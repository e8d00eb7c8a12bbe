using Hourhinge.App.Common;

namespace Hourhinge.Tests.Host.App.Common;

/// <summary>Text from outside cannot control a terminal or a spreadsheet.</summary>
public class VisibleTextTests
{
    [Theory]
    [InlineData("plain – 2.5°, M 31 Ω", "plain – 2.5°, M 31 Ω")]
    [InlineData("\u001b[2J\u0007", @"\x1B[2J\x07")]
    [InlineData("a\nb\tc\r", @"a\nb\tc\r")]
    [InlineData("\u009b31m", @"\x9B31m")] // CSI as one character: ECMA-48, 5.4
    [InlineData("gpj\u202etxt", @"gpj\u202Etxt")] // right-to-left override: Unicode UAX #9
    [InlineData("\u2028", @"\u2028")]
    [InlineData("\ud83d\udd2d", "\ud83d\udd2d")]
    public void Control_and_format_characters_are_shown(string text, string expected) =>
        Assert.Equal(expected, VisibleText.Of(text));

    [Fact]
    public void A_lone_surrogate_is_shown() => Assert.Equal(@"a\uD83D", VisibleText.Of("a\ud83d"));

    [Fact]
    public void Lines_may_be_kept() =>
        Assert.Equal("a\r\nb\n" + @"\x1B", VisibleText.Of("a\r\nb\n\u001b", keepLines: true));

    [Theory]
    [InlineData("=1+1.fits", "./=1+1.fits")]
    [InlineData("-x.jpg", "./-x.jpg")]
    [InlineData("@x", "./@x")]
    [InlineData("\t=x", @"\t=x")]
    [InlineData("frame.fits", "frame.fits")]
    public void A_cell_begins_no_formula(string name, string expected) =>
        Assert.Equal(expected, VisibleText.Cell(name, "./"));
}
