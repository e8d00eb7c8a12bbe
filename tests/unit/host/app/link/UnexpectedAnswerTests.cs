using System.Text;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.App.Link;

/// <summary>Whatever a peer answers, a command ends with a result or with one sentence and exit code 3.</summary>
public sealed class UnexpectedAnswerTests(ITestOutputHelper output)
{
    private static readonly string[] _answers =
    [
        "", "-", "NaN", "Infinity", "1e999", "9.91E37", "1,2,3", ",", "\"", "#", "#9", "#15ab", "#3zzz", "0",
        "-1,0", "\0",
        "\x1B[31mred", "IDLE", "TRACKING", "#0abc", "#800000000", "1.5", "99999999999999999999", ";", "0,\"x\"",
    ];

    [Fact]
    public void No_answer_leads_to_an_error_of_the_program()
    {
        var random = new Random(1);
        int wrong = 0;
        using var peer =
            FakePeer.Answering(q => q == "*IDN?" || random.Next(3) > 0 ? FakePeer.Healthy(q) : Random(random));
        string[][] commands =
        [
            ["device", "status", "--json"], ["device", "status"], ["device", "errors"], ["device", "read-rig"],
            ["device", "start"], ["device", "at-start"], ["device", "watch", "--count", "1", "--lines"],
            ["device", "supply"], ["device", "keep-alive"], ["device", "board"], ["device", "shutter"],
            ["device", "dither"], ["device", "clock"], ["device", "self-test"], ["device", "commands"],
            ["device", "send", "*IDN?;*TST?"], ["device", "edit"], ["device", "jog", "5mm"],
        ];
        for (int i = 0; i < 480; i++)
        {
            string[] command = commands[i % commands.Length];
            (int code, string text, string error) = Tool.Run([.. command, "--to", peer.Port]);
            Assert.True(code is 0 or 1 or 3, $"{code} after {string.Join(' ', command)}: {error}");
            Assert.DoesNotContain("error of the program", error, StringComparison.Ordinal);
            Assert.DoesNotContain('\x1B', text + error);
            if (code == 3)
            {
                wrong++;
                Assert.Single(error.Trim().Split('\n'));
            }
        }

        output.WriteLine($"480 commands with random answers: {wrong} ended with one sentence");
        Assert.InRange(wrong, 100, 470);
    }

    // Never a block that promises more than it has: each would cost the whole deadline.
    private static string Random(Random random)
    {
        if (random.Next(2) == 0)
        {
            return _answers[random.Next(_answers.Length)] is var known
                && known.StartsWith("#15", StringComparison.Ordinal)
                ? "#12ab" : known;
        }

        byte[] bytes = new byte[random.Next(40)];
        random.NextBytes(bytes);
        return Encoding.Latin1.GetString(bytes).Replace('\n', ' ').Replace('#', ' ');
    }
}
