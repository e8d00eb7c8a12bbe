// The packages whose native code the runtime of this machine lacks, with the members that the board uses: PWM, ADC,
// serial port, files, pulse counter, timer. Compiled into one assembly with firmware/board.

using System;
using System.Collections;

namespace System.Device.Pwm
{
    public sealed class PwmChannel
    {
        /// <summary>The channel of the step train, opened first.</summary>
        public static PwmChannel StepTrain;

        public int Frequency { get; set; }

        public double DutyCycle { get; set; }

        public static PwmChannel CreateFromPin(int pin, int frequency = 400, double dutyCyclePercentage = 0.5)
        {
            PwmChannel channel = new PwmChannel();
            StepTrain ??= channel;
            channel.Frequency = frequency;
            channel.DutyCycle = dutyCyclePercentage;
            return channel;
        }

        public void Start()
        {
        }
    }
}

namespace System.Device.Adc
{
    public class AdcChannel
    {
        // 6.0 V behind the divider.
        public int ReadValue() => 2409;
    }

    public class AdcController
    {
        public int MaxValue => 4095;

        public AdcChannel OpenChannel(int channelNumber) => new AdcChannel();
    }
}

namespace System.Device.Gpio
{
    public enum GpioPulsePolarity
    {
        Both,
        Falling,
        Rising,
    }

    public struct GpioPulseCount
    {
        public long Count;
        public TimeSpan RelativeTime;
    }

    /// <summary>The encoder's counter stands still; that of one pin counts what a scenario says.</summary>
    public sealed class GpioPulseCounter
    {
        public static long StepPulses;

        private readonly bool _isOfSteps;

        public GpioPulseCounter(int pinNumberA, int pinNumberB)
        {
            _isOfSteps = pinNumberB < 0;
        }

        public GpioPulsePolarity Polarity { get; set; }

        public ushort FilterPulses { get; set; }

        public void Start()
        {
        }

        public GpioPulseCount Read()
        {
            GpioPulseCount count = new GpioPulseCount();
            count.Count = _isOfSteps ? StepPulses : 0;
            return count;
        }
    }
}

namespace System.IO
{
    public enum FileMode
    {
        Open = 3,
        OpenOrCreate = 4,
    }

    public enum FileAccess
    {
        Read = 1,
        ReadWrite = 3,
    }

    public enum SeekOrigin
    {
        Begin = 0,
    }

    public static class File
    {
        internal static readonly FileTable Contents = new FileTable();

        public static bool Exists(string path) => Contents.Find(path) != null;
    }

    internal sealed class FileTable
    {
        private readonly ArrayList _names = new ArrayList();
        private readonly ArrayList _files = new ArrayList();

        public FakeFile Find(string name)
        {
            for (int i = 0; i < _names.Count; i++)
            {
                if ((string)_names[i] == name)
                {
                    return (FakeFile)_files[i];
                }
            }

            return null;
        }

        public FakeFile Add(string name)
        {
            FakeFile file = new FakeFile();
            _names.Add(name);
            _files.Add(file);
            return file;
        }
    }

    internal sealed class FakeFile
    {
        public readonly byte[] Bytes = new byte[16384];
        public int Length;
    }

    public class FileStream : IDisposable
    {
        private readonly FakeFile _file;
        private int _at;

        public FileStream(string path, FileMode mode, FileAccess access)
        {
            _file = File.Contents.Find(path);
            if (_file == null)
            {
                _file = File.Contents.Add(path);
            }
        }

        public long Length => _file.Length;

        public long Seek(long offset, SeekOrigin origin)
        {
            if (offset > _file.Length)
            {
                throw new IOException();
            }

            _at = (int)offset;
            return offset;
        }

        public int Read(byte[] buffer, int offset, int count)
        {
            count = count < _file.Length - _at ? count : _file.Length - _at;
            Array.Copy(_file.Bytes, _at, buffer, offset, count);
            _at += count;
            return count;
        }

        public void Write(byte[] buffer, int offset, int count)
        {
            Array.Copy(buffer, offset, _file.Bytes, _at, count);
            _at += count;
            _file.Length = _file.Length > _at ? _file.Length : _at;
        }

        public void Dispose()
        {
        }
    }

    public class IOException : Exception
    {
    }
}

namespace System.IO.Ports
{
    /// <summary>The line: bytes sent by the host arrive at 115200 baud; what the port's buffer cannot hold is
    /// lost.</summary>
    public static class Wire
    {
        private const long BytesPerSec = 11520;

        private static readonly object _sync = new object();
        private static readonly byte[] _sent = new byte[16384];
        private static readonly byte[] _answer = new byte[16384];
        private static byte[] _buffer = new byte[256];
        private static int _sentCount;
        private static int _arrived;
        private static int _start;
        private static int _count;
        private static int _answerCount;
        private static long _sinceUs;

        public static int Lost;
        public static bool IsOpen;

        public static void Open(int bufferBytes)
        {
            _buffer = new byte[bufferBytes];
            IsOpen = true;
        }

        public static void Send(byte[] bytes)
        {
            lock (_sync)
            {
                Array.Copy(bytes, 0, _sent, 0, bytes.Length);
                _sentCount = bytes.Length;
                _arrived = 0;
                _answerCount = 0;
                _sinceUs = (long)nanoFramework.Hardware.Esp32.HighResTimer.GetCurrent();
            }
        }

        public static bool HasAllArrived
        {
            get
            {
                lock (_sync)
                {
                    Arrive();
                    return _arrived == _sentCount && _count == 0;
                }
            }
        }

        public static int Waiting
        {
            get
            {
                lock (_sync)
                {
                    Arrive();
                    return _count;
                }
            }
        }

        public static int Read(byte[] buffer, int offset, int count)
        {
            lock (_sync)
            {
                Arrive();
                count = count < _count ? count : _count;
                for (int i = 0; i < count; i++)
                {
                    buffer[offset + i] = _buffer[_start];
                    _start = (_start + 1) % _buffer.Length;
                }

                _count -= count;
                return count;
            }
        }

        public static void Write(byte[] buffer, int offset, int count)
        {
            lock (_sync)
            {
                Array.Copy(buffer, offset, _answer, _answerCount, count);
                _answerCount += count;
            }
        }

        public static bool HasAnswer
        {
            get
            {
                lock (_sync)
                {
                    return _answerCount > 0 && _answer[_answerCount - 1] == (byte)'\n';
                }
            }
        }

        public static string Answer()
        {
            lock (_sync)
            {
                int length = _answerCount < 90 ? _answerCount : 90;
                char[] text = new char[length];
                for (int i = 0; i < length; i++)
                {
                    text[i] = _answer[i] < 32 || _answer[i] > 126 ? '|' : (char)_answer[i];
                }

                return new string(text);
            }
        }

        private static void Arrive()
        {
            long now = (long)nanoFramework.Hardware.Esp32.HighResTimer.GetCurrent();
            long due = (now - _sinceUs) * BytesPerSec / 1000000;
            while (_arrived < _sentCount && _arrived < due)
            {
                if (_count == _buffer.Length)
                {
                    Lost++;
                }
                else
                {
                    _buffer[(_start + _count) % _buffer.Length] = _sent[_arrived];
                    _count++;
                }

                _arrived++;
            }
        }
    }

    public sealed class SerialPort : IDisposable
    {
        public SerialPort(string portName, int baudRate = 9600)
        {
        }

        public int ReadBufferSize { get; set; } = 256;

        public int BytesToRead => Wire.Waiting;

        public void Open() => Wire.Open(ReadBufferSize);

        public int Read(byte[] buffer, int offset, int count) => Wire.Read(buffer, offset, count);

        public void Write(byte[] buffer, int offset, int count) => Wire.Write(buffer, offset, count);

        public void Dispose()
        {
        }
    }
}

namespace nanoFramework.Hardware.Esp32
{
    public class HighResTimer
    {
        private static readonly long _bootTicks = DateTime.UtcNow.Ticks;

        /// <summary>Virtual time, µs; negative for the real one. A reading takes 20 µs, roughly a module's.</summary>
        public static long VirtualUs = -1;

        public static ulong GetCurrent() => VirtualUs >= 0
            ? (ulong)(VirtualUs += 20)
            : (ulong)((DateTime.UtcNow.Ticks - _bootTicks) / 10);
    }

    public class Configuration
    {
        public static void SetPinFunction(int pin, DeviceFunction value)
        {
        }
    }

    public enum DeviceFunction
    {
        COM2_TX,
        COM2_RX,
        PWM1,
        PWM3,
        PWM4,
        ADC1_CH6,
    }
}
