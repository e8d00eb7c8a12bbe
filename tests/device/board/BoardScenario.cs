// The board's program itself, in real time: boot, upload at line rate, track, rewind, button, shutter.

using System.Diagnostics;
using System.IO.Ports;
using System.Threading;
using Hourhinge.Board;

public static class BoardScenario
{
    public static void Run(byte[] profile)
    {
        new Thread(Program.Main).Start();
        for (int i = 0; i < 100 && !Wire.IsOpen; i++)
        {
            Thread.Sleep(10);
        }

        Thread.Sleep(200);
        Ask("*IDN?");
        SendAll(Upload(profile));
        Debug.WriteLine("lost " + Wire.Lost);
        Ask("SYST:ERR?;:MOT:STAT?;POS?");
        Ask("INIT;:MOT:STAT?");
        Debug.WriteLine("@@PBEGIN");
        Thread.Sleep(1500);
        Ask("MOT:STAT?;POS?");
        Debug.WriteLine("@@PTRACKED");
        Ask("SHUT:COUN 2;EXP 0.5;GAP 0.3;SETT 0.1;:SHUT:STAR;STAT?");
        for (int i = 0; i < 100 && !Wire.Answer().StartsWith("DONE"); i++)
        {
            Thread.Sleep(100);
            Ask("SHUT:STAT?");
        }

        Debug.WriteLine("@@PSHOT");
        Ask("ABOR;:REW;:MOT:STAT?");
        Thread.Sleep(1000);
        Ask("MOT:STAT?;POS?;:SYST:ERR?");
        Debug.WriteLine("@@PREWOUND");
        for (int i = 0; i < 200 && !Wire.Answer().StartsWith("IDLE"); i++)
        {
            Thread.Sleep(200);
            Ask("MOT:STAT?;POS?");
        }
    }

    /// <summary>4096 bytes at the line's full rate into a loop whose passes last 30 ms, in real time.</summary>
    public static void UploadSlowly()
    {
        BoardParts parts = new BoardParts(new System.Device.Gpio.GpioController(), "COM2");
        Hourhinge.Firmware.Machine machine = new Hourhinge.Firmware.Machine(parts.HardwareInterfaces());
        parts.Link.Start();
        Thread loop = new Thread(() =>
        {
            while (true)
            {
                parts.Update(machine);
                Thread.Sleep(30);
            }
        });
        loop.Start();
        Thread.Sleep(200);
        char[] text = "RIG:DATA #44096".ToCharArray();
        byte[] bytes = new byte[text.Length + 4096 + 1];
        for (int i = 0; i < bytes.Length; i++)
        {
            bytes[i] = i < text.Length ? (byte)text[i] : (byte)i;
        }

        bytes[bytes.Length - 1] = (byte)'\n';
        SendAll(bytes);
        Debug.WriteLine("lost " + Wire.Lost);
        Ask("*IDN?");
        Ask("SYST:ERR?");
    }

    public static byte[] Upload(byte[] profile)
    {
        string header = "PROF:DATA #4" + (profile.Length / 1000) + (profile.Length / 100 % 10)
            + (profile.Length / 10 % 10) + (profile.Length % 10);
        byte[] bytes = new byte[header.Length + profile.Length + 1];
        for (int i = 0; i < header.Length; i++)
        {
            bytes[i] = (byte)header[i];
        }

        System.Array.Copy(profile, 0, bytes, header.Length, profile.Length);
        bytes[bytes.Length - 1] = (byte)'\n';
        return bytes;
    }

    // Until the controller has taken the last byte.
    private static void SendAll(byte[] bytes)
    {
        Wire.Send(bytes);
        for (int i = 0; i < 1000 && !Wire.HasAllArrived; i++)
        {
            Thread.Sleep(20);
        }

        Thread.Sleep(100);
    }

    // Waits for the answer, which ends with a newline.
    private static void Ask(string line)
    {
        byte[] bytes = new byte[line.Length + 1];
        for (int i = 0; i < line.Length; i++)
        {
            bytes[i] = (byte)line[i];
        }

        bytes[line.Length] = (byte)'\n';
        Wire.Send(bytes);
        for (int i = 0; i < 500 && !Wire.HasAnswer; i++)
        {
            Thread.Sleep(20);
        }

        Debug.WriteLine(line + " -> " + Wire.Answer());
    }
}
