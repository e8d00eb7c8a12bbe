// Says what is at the other end of a port when it is not a controller of ours.

using System.Globalization;
using System.Text;
using Hourhinge.Firmware.Protocol;

namespace Hourhinge.App.Link;

/// <summary>Sentences about a peer that did not identify itself.</summary>
internal static class PeerDiagnosis
{
    // Text at the right speed contains hardly any of them; at a wrong speed about half of what arrives.
    private const double MaxUnreadableShare = 0.1;

    /// <summary>What the peer seems to be. Asks once more, in the plainest form.</summary>
    public static string Of(AnswerReader reader, Action askPlainly, int waitMs)
    {
        byte[] seen = [.. reader.Foreign];
        if (seen.Length == 0 || IsText(seen))
        {
            askPlainly();
            string? line = reader.LastLine(waitMs);
            seen = line != null ? Encoding.Latin1.GetBytes(line) : seen.Length > 0 ? seen : [.. reader.Foreign];
        }

        if (seen.Length == 0)
        {
            return "the port is open but nothing answers: is this the controller's port, is it on, and does it run at "
                + $"{LinkPort.BaudRate} baud?";
        }

        if (!IsText(seen))
        {
            return $"what arrives is not text: the other end runs at another speed than {LinkPort.BaudRate} baud, "
                + "or it is "
                + "no controller.";
        }

        string first = Encoding.Latin1.GetString(seen).Split('\n').FirstOrDefault(l => l.Trim().Length > 0) ?? "";
        return WrongVersion(first.Trim())
            ?? "a Hourhinge controller answers, but not to every request: try again, and check the cable.";
    }

    /// <summary>Why a controller with this identity cannot be used; null when it can.</summary>
    public static string? WrongVersion(string identity)
    {
        string[] fields = identity.Split(',');
        if (fields[0] != "Hourhinge")
        {
            return $"this is another instrument, not a Hourhinge controller: it says "
                + $"`{ControllerLink.Shown(identity)}`.";
        }

        string needed = $"{CommonCommands.MajorVersion}.{CommonCommands.MinorVersion}";
        string[] version = fields.Length == 4 ? fields[3].Split('.') : [];
        if (version.Length != 2 || !TryParse(version[0], out int major) || !TryParse(version[1], out int minor))
        {
            return $"the controller's identity `{ControllerLink.Shown(identity)}` has no version that is "
                + "understood; this "
                + $"program needs firmware {needed}.";
        }

        return major > CommonCommands.MajorVersion
            ? $"the controller's firmware {major}.{minor} is newer than this program, which knows {needed}: install "
                + "the "
                + "program that came with it."
            : major < CommonCommands.MajorVersion || minor < CommonCommands.MinorVersion
                ? $"the controller's firmware {major}.{minor} is too old; this program needs {needed}: flash the "
                    + "board again."
                : null;
    }

    private static bool TryParse(string text, out int value) =>
        int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out value);

    private static bool IsText(byte[] bytes) =>
        bytes.Count(b => b is (< 32 or > 126) and not 9 and not 10 and not 13) <= MaxUnreadableShare * bytes.Length;
}
