// The peer's bytes over a serial port. A separate thread moves them, so that the loop never waits for the port: Read
// and Write only copy bytes. The protocol is firmware/logic/protocol/Instrument.cs.

using System;
using System.IO.Ports;
using System.Threading;
using Hourhinge.Firmware.Hardware;
using Hourhinge.Firmware.Scpi;

namespace Hourhinge.Board;

/// <summary>115200 8N1 between two rings.</summary>
public sealed class SerialLink : IByteLink
{
    private const int BaudRate = 115200;

    // Room for the longest message, so that none depends on how fast the loop takes it.
    private const int ReceiveBytes = ScpiReceiver.Capacity + 256;

    // The runtime's own buffer: 4096 bytes last 0.35 s at this rate. It must be set before the port is opened.
    private const int PortBytes = 4096;
    private const int SendBytes = 2048;
    private const int PumpPauseMs = 5;
    private const int ReopenPauseMs = 1000;

    // The port sends from a hardware queue of 128 bytes and the runtime waits, with every thread, for what does not
    // fit. 48 bytes take 48 x 10 / 115200 = 4.2 ms, less than the pause, so the queue is empty again each time.
    private const int SendAtOnce = 48;

    private readonly string _portName;
    private readonly ByteRing _received = new ByteRing(ReceiveBytes);
    private readonly ByteRing _toSend = new ByteRing(SendBytes);
    private readonly byte[] _buffer = new byte[256];

    /// <summary>Prepares the link; the port's pins must already have their functions.</summary>
    public SerialLink(string portName)
    {
        _portName = portName;
    }

    /// <summary>Starts the thread that moves the bytes.</summary>
    public void Start()
    {
        Thread pump = new Thread(Run);
        pump.Priority = ThreadPriority.BelowNormal;
        pump.Start();
    }

    /// <inheritdoc/>
    public int Connections => 0;

    /// <inheritdoc/>
    public int Read(byte[] buffer, int index, int count) => _received.Dequeue(buffer, index, count);

    /// <inheritdoc/>
    public int Write(byte[] buffer, int index, int count) => _toSend.Enqueue(buffer, index, count);

    private void Run()
    {
        while (true)
        {
            SerialPort port = null;
            try
            {
                port = new SerialPort(_portName, BaudRate);
                port.ReadBufferSize = PortBytes;
                port.Open();
                while (true)
                {
                    Pump(port);
                    Thread.Sleep(PumpPauseMs);
                }
            }
            catch (Exception)
            {
                // A failed link must not stop tracking: the port is opened again.
            }

            Close(port);
            Thread.Sleep(ReopenPauseMs);
        }
    }

    private void Pump(SerialPort port)
    {
        int waiting = port.BytesToRead;
        int room = _received.Free;
        int count = waiting < room ? waiting : room;
        while (count > 0)
        {
            // Never ask for more than is there: the port would wait for the rest.
            int read = port.Read(_buffer, 0, count < _buffer.Length ? count : _buffer.Length);
            _received.Enqueue(_buffer, 0, read);
            count = read > 0 ? count - read : 0;
        }

        count = _toSend.Dequeue(_buffer, 0, SendAtOnce);
        if (count > 0)
        {
            port.Write(_buffer, 0, count);
        }
    }

    private static void Close(SerialPort port)
    {
        try
        {
            if (port != null)
            {
                port.Dispose();
            }
        }
        catch (Exception)
        {
            // The port is discarded anyway.
        }
    }
}
