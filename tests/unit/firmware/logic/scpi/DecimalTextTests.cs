using System.Globalization;
using System.Text;
using FsCheck.Xunit;
using Hourhinge.Firmware.Scpi;

namespace Hourhinge.Tests.Firmware.Logic.Scpi;

/// <summary>Outside judge: System.Decimal, 28 digits, rounding halves away from zero.</summary>
public class DecimalTextTests
{
    [Property(MaxTest = 5000)]
    public void Text_is_read_as_System_Decimal_reads_it(int seed)
    {
        Random random = new(seed);
        string text = RandomText(random);
        int scale = random.Next(10);
        decimal exact = decimal.Parse(text, NumberStyles.Float, CultureInfo.InvariantCulture);
        for (int i = 0; i < scale; i++)
        {
            exact *= 10;
        }

        decimal rounded = Math.Round(exact, MidpointRounding.AwayFromZero);
        int found = Parse(text, scale, out long value);
        if (Math.Abs(rounded) > 9000000000000000m)
        {
            Assert.Equal(DecimalText.TooLarge, found);
        }
        else
        {
            Assert.Equal((text, DecimalText.Good, (long)rounded), (text, found, value));
        }
    }

    [Property(MaxTest = 2000)]
    public bool Formatted_numbers_come_back(long value, byte scale)
    {
        value %= 9000000000000000;
        string text = DecimalText.Format(value, scale % 10);
        return Parse(text, scale % 10, out long back) == DecimalText.Good && back == value
            && decimal.Parse(text, CultureInfo.InvariantCulture) == value / (decimal)Math.Pow(10, scale % 10);
    }

    [Theory]
    [InlineData("")]
    [InlineData("+")]
    [InlineData("-")]
    [InlineData(".")]
    [InlineData("E5")]
    [InlineData("1E")]
    [InlineData("1E+")]
    [InlineData("1.2.3")]
    [InlineData("--1")]
    [InlineData("1 2")]
    [InlineData("0x10")]
    [InlineData("NAN")]
    [InlineData("1,5")]
    public void What_is_not_a_number_is_not_a_number(string text) =>
        Assert.Equal(DecimalText.NotANumber, Parse(text, 3, out _));

    [Theory]
    [InlineData("1E16", 0, DecimalText.TooLarge, 0)]
    [InlineData("9000000000000000", 0, DecimalText.Good, 9000000000000000)]
    [InlineData("9000000000000001", 0, DecimalText.TooLarge, 0)]
    [InlineData("1E999999999", 0, DecimalText.TooLarge, 0)]
    [InlineData("0E999999999", 0, DecimalText.Good, 0)]
    [InlineData("1E-999999999", 9, DecimalText.Good, 0)]
    [InlineData("5.", 1, DecimalText.Good, 50)]
    [InlineData(".5", 0, DecimalText.Good, 1)]
    [InlineData("-.5", 0, DecimalText.Good, -1)]
    [InlineData("0.4999999999999999999999999999999999", 0, DecimalText.Good, 0)]
    [InlineData("00000000000000000000000000000000012.5", 1, DecimalText.Good, 125)]
    [InlineData("0.00000000000000000000000000000000001E35", 0, DecimalText.Good, 1)]
    public void Edges(string text, int scale, int found, long value)
    {
        Assert.Equal(found, Parse(text, scale, out long got));
        Assert.Equal(value, found == DecimalText.Good ? got : 0);
    }

    [Property(MaxTest = 2000)]
    public bool Arbitrary_bytes_are_read_without_an_exception(byte[] bytes) =>
        DecimalText.Parse(bytes, 0, bytes.Length, 3, out _) is >= 0 and <= 2;

    private static int Parse(string text, int scale, out long value) =>
        DecimalText.Parse(Encoding.ASCII.GetBytes(text), 0, text.Length, scale, out value);

    private static string RandomText(Random random)
    {
        StringBuilder text = new();
        text.Append(random.Next(3) switch { 0 => "-", 1 => "+", _ => string.Empty });
        Digits(1 + random.Next(9));
        if (random.Next(3) > 0)
        {
            text.Append('.');
            Digits(random.Next(10));
            text.Append(random.Next(3) == 0 ? "5" : string.Empty);
        }

        if (random.Next(3) == 0)
        {
            text.Append(random.Next(2) == 0 ? 'e' : 'E').Append(random.Next(-7, 8));
        }

        return text.ToString();

        void Digits(int count)
        {
            for (int i = 0; i < count; i++)
            {
                text.Append((char)('0' + random.Next(10)));
            }
        }
    }
}
