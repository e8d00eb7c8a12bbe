using System.Text;
using Hourhinge.Rehearsal.Board;

namespace Hourhinge.Tests.Firmware.Logic;

/// <summary>What goes wrong on the line in a night. None of it may start a motion.</summary>
internal static class LinkFaults
{
    /// <summary>One fault; the name of it.</summary>
    public static string Do(Random random, ByteQueueLink link, Action<double> wait)
    {
        switch (random.Next(6))
        {
            case 0:
                Send(link, random.Next(2) == 0 ? "INIT" : "MOT:STAT?;:REW");
                link.Connect();
                Send(link, "\n");
                wait(1);
                return "hang-up after half a line";
            case 1:
                link.Connect();
                Send(link, "RIG:DATA #3400key = \"a\"\n");
                wait(0.7);
                Send(link, "INIT\nREW\nMOT:JOG 50\nb = 1\nINIT\n");
                wait(1);
                return "a sender that stalls in mid-block";
            case 2:
                link.PeerBufferBytes = 0;
                Send(link, "SYST:HELP:HEAD?\nSYST:HELP:HEAD?\nPROF:DATA?\n");
                wait(3);
                link.PeerBufferBytes = 65536;
                return "a peer that does not read";
            case 3:
                Send(link, "*OPC?\n*IDN?\n\u0018");
                wait(0.2);
                return "a clear behind a held query";
            case 4:
                link.Connect();
                Send(link, "RIG:THR \"M6\nINIT\nREW\n");
                wait(random.Next(2) == 0 ? 0.2 : 4);
                link.Connect();
                return "hang-up inside a string";
            default:
                for (int i = 0; i < 5; i++)
                {
                    Send(link, "SYST:HELP:HEAD?\nINI");
                    link.Connect();
                }

                wait(0.5);
                return "five hang-ups with answers pending";
        }
    }

    private static void Send(ByteQueueLink link, string text) => link.Send(Encoding.Latin1.GetBytes(text));
}
