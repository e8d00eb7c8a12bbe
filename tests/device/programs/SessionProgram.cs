// Messages of the protocol, good, bad and garbage.

#nullable disable

namespace Hourhinge.DeviceTests.Programs;

/// <summary>SCPI sessions.</summary>
public static class SessionProgram
{
    private const int Garbage = 400;

    private static readonly string[] _messages =
    {
        "*IDN?", "*TST?", "*ESE 60;*SRE 32;*ESE?;*SRE?", "*OPC?", "*STB?", "SYST:ERR?", "SYST:ERR?", "SYST:VERS?",
        "SYST:HELP:HEAD?", "STAT:OPER:COND?;:STAT:QUES:COND?", "MOT:STAT?", "MOT:POS?", "MOTion:POSition? ;STATe?",
        "MOT:POS:DECL 0", "MOT:POS:DECL -1", "MOT:POS:DECL 1e99", "SYST:ERR:COUN?", "SYST:ERR?", "SYST:ERR?",
        "NONSENSE", "SYST:ERR?", "MOT:POS:DECL", "SYST:ERR?", "MOT:POS:DECL 1,2", "SYST:ERR?", "MOT:JOG 'x'",
        "SYST:ERR?", "PROF:DATA #3abc", "SYST:ERR?", "PROF:NAME?", "PROF:DATA?", "PROF:SLOT?", "SHUT:COUN 3;EXP 1.5",
        "SHUT:COUN?;EXP?", "RIG:ARM:NUT?", "RIG:ARM:NUT 251.5", "RIG:ARM:NUT?", "RIG:THR \"M6\"", "RIG:PITC?",
        "RIG:APPL", "SYST:ERR?", "RIG:FORM BENT;BEND 250.25", "RIG:FORM?;BEND?", "RIG:APPL", "SYST:ERR?", "*CLS",
        "INIT;:MOT:STAT?", "ABOR", "MOT:STAT?", "SYST:ERR?", "*RST", "MOT:STAT?", "SUPP:VOLT?", "SYST:ERR?",
    };

    /// <summary>Prints every message and its answer.</summary>
    public static void Run()
    {
        for (int profile = -1; profile < 1; profile++)
        {
            FakeController controller = new FakeController(new FakeFlash(), 1, false, false);
            if (profile >= 0)
            {
                controller.Upload(Inputs.Profiles[profile]);
            }

            for (int i = 0; i < _messages.Length; i++)
            {
                controller.Ask(_messages[i]);
            }
        }

        SendGarbage();
    }

    // Random bytes, and good messages with a byte changed.
    private static void SendGarbage()
    {
        Numbers numbers = new Numbers(77);
        FakeController controller = new FakeController(new FakeFlash(), 1, false, false);
        controller.Upload(Inputs.Profiles[0]);
        for (int i = 0; i < Garbage; i++)
        {
            byte[] bytes;
            if (i % 2 == 0)
            {
                bytes = new byte[1 + numbers.Below(60)];
                for (int b = 0; b < bytes.Length; b++)
                {
                    bytes[b] = (byte)numbers.Below(256);
                }
            }
            else
            {
                string message = _messages[numbers.Below(_messages.Length)];
                bytes = new byte[message.Length + 1];
                for (int b = 0; b < message.Length; b++)
                {
                    bytes[b] = (byte)message[b];
                }

                bytes[numbers.Below(message.Length)] = (byte)numbers.Below(128);
                bytes[message.Length] = (byte)'\n';
            }

            controller.Send(bytes);
            if (i % 10 == 9)
            {
                controller.Tell("");
                controller.Pass(40);
                controller.Ask("*CLS;:ABOR;:MOT:STAT?;POS?");
            }
        }
    }
}
