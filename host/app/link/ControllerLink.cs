// A conversation with a controller, over a serial port or TCP: requests, blocks and errors. The commands decide what is
// sent. No answer is believed for its place in the stream: each carries its request's mark.

using System.Globalization;
using System.Text;
using Hourhinge.App.Common;

namespace Hourhinge.App.Link;

/// <summary>An open port to a controller.</summary>
internal sealed class ControllerLink : IDisposable
{
    private const int StopAttempts = 12;

    // The controller's queue holds 16.
    private const int MaxErrors = 32;

    // The longest text of an error in the queue (SCPI-99, volume 2, 21.8).
    private const int MaxShown = 255;

    // ECMA-48's CAN is the controller's device clear; a newline would execute an earlier peer's unfinished line.
    private const string Clear = "\u0018";

    // Each request begins with one to four of these queries, so that its answer begins with as many of these answers
    // and cannot be taken for another one's. The first of a conversation begins with more, unlike any of an earlier
    // one.
    private const string MarkQuery = ":SYSTem:VERSion?;";
    private const string Mark = "1999.0";
    private const int MarkCounts = 4;

    private readonly LinkPort _port;
    private readonly AnswerReader _reader;
    private LinkTiming _timing;
    private int _requests;

    private ControllerLink(LinkPort port, LinkTiming? timing)
    {
        _port = port;
        _reader = new AnswerReader(port);
        _timing = timing ?? new LinkTiming();
    }

    /// <summary>The controller's answer to *IDN?.</summary>
    public string Identity { get; private set; } = "";

    /// <summary>How long a request may take from now on, ms; for commands that take the controller seconds.</summary>
    public void SetPatience(int ms) => _timing = _timing with { RequestMs = ms };

    /// <summary>Opens a port and checks that a Hourhinge controller answers on it.</summary>
    public static ControllerLink Open(string port, LinkTiming? timing = null)
    {
        var link = new ControllerLink(LinkPort.Open(port), timing);
        try
        {
            link.Identify();
            return link;
        }
        catch
        {
            link.Dispose();
            throw;
        }
    }

    /// <summary>
    /// Emergency stop: no identification first. Pauses until the controller has discarded a block that another peer
    /// left unfinished, then sends ABORt until the controller's state confirms that nothing moves.
    /// </summary>
    public static void Stop(string port, LinkTiming? timing = null)
    {
        using var link = new ControllerLink(LinkPort.Open(port), timing);
        for (int attempt = 1; attempt <= StopAttempts; attempt++)
        {
            Thread.Sleep(link._timing.BlockGapMs);
            link.Write(Clear + "\n");
            link.Send("ABORt");
            byte[]? state = link.Ask("MOTion:STATe?", link._timing.StopRequestMs);
            if (state != null && Encoding.Latin1.GetString(state) is "IDLE" or "END" or "FAULT")
            {
                return;
            }
        }

        throw new DeviceException(
            $"--to {port}: ABORt was sent {StopAttempts} times and not confirmed. Cut the motor's power.");
    }

    /// <summary>Sends a query and returns its answer.</summary>
    public string Query(string query) => Encoding.Latin1.GetString(Request(query, mayRepeat: true));

    /// <summary>Sends a query and returns the numbers that it answers; 9.91E37 is an unknown one.</summary>
    public double[] QueryNumbers(string query, int count)
    {
        string answer = Query(query);
        string[] parts = answer.Split(',');
        return parts.Length == count
            ? [.. parts.Select(part => ToNumber(query, part))]
            : throw Unexpected(query, answer);
    }

    /// <summary>Sends a query and returns the definite-length block of its answer.</summary>
    public byte[] QueryBlock(string query)
    {
        byte[] answer = Request(query, mayRepeat: true);
        int digits = answer.Length > 1 && answer[0] == '#' ? answer[1] - '0' : 0;
        bool isBlock = digits is >= 1 and <= 9 && answer.Length >= 2 + digits
            && int.TryParse(Encoding.ASCII.GetString(answer, 2, digits), NumberStyles.None,
                CultureInfo.InvariantCulture, out int count) && answer.Length == 2 + digits + count;
        return isBlock ? answer[(2 + digits)..] : throw Unexpected(query, Encoding.Latin1.GetString(answer));
    }

    /// <summary>Sends a command and throws if the controller queued an error for it; <paramref name="what"/> names
    /// it in that error.</summary>
    public void Command(string command, string what)
    {
        DequeueErrors();
        Confirm(() => Send(command), what);
    }

    /// <summary>Sends a command with a definite-length block, and throws if the controller queued an error for
    /// it.</summary>
    public void CommandBlock(string command, byte[] block, string what)
    {
        DequeueErrors();
        string length = block.Length.ToString(CultureInfo.InvariantCulture);
        byte[] message =
            [.. Encoding.ASCII.GetBytes($"{command} #{length.Length}{length}"), .. block, (byte)'\n'];
        Confirm(() => _port.Write(message), what);
    }

    /// <summary>Sends any message and returns the lines of its answer, none for a command; throws if the controller
    /// queued an error for it.</summary>
    public IReadOnlyList<string> Exchange(string message, string what)
    {
        DequeueErrors();
        // What comes before the answer to the next request is the answer to this one.
        Confirm(() => Send(message), what);
        return [.. _reader.Skipped.Select(line => Encoding.Latin1.GetString(line).TrimEnd('\r'))];
    }

    /// <summary>Sends a command without waiting for what becomes of it.</summary>
    public void Send(string command) => Write(command + "\n");

    /// <summary>Removes and returns the errors that wait in the controller's queue, oldest first: those of earlier
    /// peers must not be reported as errors of our commands.</summary>
    public IReadOnlyList<string> DequeueErrors()
    {
        var found = new List<string>();
        for (string error = NextError(); !IsNone(error); error = NextError())
        {
            found.Add(error);
            if (found.Count == MaxErrors)
            {
                throw new DeviceException(
                    $"--to {_port.Name}: the controller's error queue does not become empty ({MaxErrors} read, the "
                    + "last "
                    + $"one {Shown(error)}); nothing was sent.");
            }
        }

        return found;
    }

    public void Dispose() => _port.Dispose();

    /// <summary>The start of an answer, fit to be shown in a sentence.</summary>
    internal static string Shown(string answer) =>
        VisibleText.Of(answer.Length > MaxShown ? answer[..MaxShown] + "..." : answer);

    private static bool IsNone(string error) => error.StartsWith("0,", StringComparison.Ordinal);

    private void Confirm(Action send, string what)
    {
        string error;
        try
        {
            send();
            error = NextError();
        }
        catch (LinkLostException e)
        {
            throw new LinkLostException(
                $"{e.Message.TrimEnd('.')}; whether the controller executed {what} is not known.");
        }

        if (!IsNone(error))
        {
            // The controller's own panel and terminal know the header; here the command of that name is meant.
            throw new DeviceException($"the controller refused {what}: "
                + Shown(
                    error.Replace("MOTion:POSition:DECLare 0", "hourhinge device at-start", StringComparison.Ordinal)));
        }
    }

    // Not repeated when no answer comes: the error might have been read and lost.
    private string NextError()
    {
        string error = Encoding.Latin1.GetString(Request("SYSTem:ERRor?", mayRepeat: false));
        int comma = error.IndexOf(',', StringComparison.Ordinal);
        return comma > 0 && int.TryParse(error[..comma], NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture,
            out _) ? error : throw Unexpected("SYSTem:ERRor?", error);
    }

    private void Identify()
    {
        // First at once; then after the pauses that end what an earlier peer left in the controller's parser.
        byte[]? answer = null;
        for (int attempt = 0; answer == null && attempt < 3; attempt++)
        {
            if (attempt > 0)
            {
                Write(Clear + "\n");
                Thread.Sleep(_timing.BlockGapMs);
            }

            Write(Clear);
            answer = Ask("*IDN?", attempt < 2 ? _timing.FirstRequestMs : _timing.RequestMs / 2);
        }

        if (answer == null)
        {
            throw new DeviceException(
                $"--to {_port.Name}: {PeerDiagnosis.Of(_reader, () => Send("*IDN?"), _timing.FirstRequestMs)}");
        }

        Identity = Encoding.Latin1.GetString(answer);
        if (PeerDiagnosis.WrongVersion(Identity) is { } problem)
        {
            throw new DeviceException($"--to {_port.Name}: {problem}");
        }
    }

    private byte[] Request(string query, bool mayRepeat)
    {
        byte[]? answer = Ask(query, _timing.RequestMs);
        if (answer == null && mayRepeat)
        {
            // Out of step: clear the controller's input and output, and ask once more.
            Write(Clear + "\n");
            Thread.Sleep(_timing.BlockGapMs);
            Write(Clear);
            answer = Ask(query, _timing.RequestMs);
        }

        if (answer == null)
        {
            throw new LinkLostException($"--to {_port.Name}: the controller did not answer {query} within "
                + $"{_timing.RequestMs / 1000.0:0.#} s{(_reader.Foreign.Count == 0 ? "" : ", but sent other data")}.");
        }

        if (answer.Length == 0)
        {
            string error = query == "SYSTem:ERRor?" ? "no error either" : NextError();
            throw new DeviceException($"the controller refused {query}: {Shown(error)}");
        }

        return answer;
    }

    // The answer without its marks, empty when the controller refused the query; null when nothing came in time.
    private byte[]? Ask(string query, int waitMs)
    {
        int marks = 1 + (_requests++ % MarkCounts) + (Identity.Length == 0 ? MarkCounts : 0);
        Send(string.Concat(Enumerable.Repeat(MarkQuery, marks)) + (query[0] is '*' or ':' ? query : ":" + query));
        return _reader.Find(Mark, marks, waitMs);
    }

    private void Write(string text) => _port.Write(Encoding.ASCII.GetBytes(text));

    private double ToNumber(string query, string text) =>
        double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value)
        && double.IsFinite(value)
            ? value
            : throw Unexpected(query, text);

    private DeviceException Unexpected(string query, string answer) =>
        new($"--to {_port.Name}: the controller answered {query} with `{Shown(answer)}`, which is not understood.");
}
