// The board's program: opens every pin, connects them to the logic, and runs the loop. Every thread catches all
// exceptions: an unhandled one ends the program silently and leaves the pins as they are.

using System;
using System.Device.Gpio;
using System.Threading;
using Hourhinge.Firmware;
using nanoFramework.Hardware.Esp32;

namespace Hourhinge.Board;

/// <summary>The entry point.</summary>
public static class Program
{
    private const string LinkPort = "COM2"; // COM1 belongs to the runtime's deployment and debugging.
    private const int PauseMs = 1;
    private const int BlinkMs = 100;

    private static BoardParts _parts;

    /// <summary>Builds everything and does not return.</summary>
    public static void Main()
    {
        try
        {
            Map();
            _parts = new BoardParts(new GpioController(), LinkPort);
            _parts.Link.Start();
            Thread loop = new Thread(RunLoop);
            loop.Priority = ThreadPriority.AboveNormal;
            loop.Start();
            Thread.Sleep(Timeout.Infinite);
        }
        catch (Exception)
        {
            BlinkForever();
        }
    }

    private static void RunLoop()
    {
        try
        {
            // The only place where board and logic are connected.
            Machine machine = new Machine(_parts.HardwareInterfaces());
            while (true)
            {
                machine.Update(); // Converts its own exceptions to a fault.
                Thread.Sleep(PauseMs);
            }
        }
        catch (Exception)
        {
            BlinkForever();
        }
    }

    // Functions that the ESP32's pin matrix must know before the pins are opened. Two PWM functions share a timer,
    // hence a frequency: the step train has PWM1 to itself, the motor's two inputs share PWM3 and PWM4.
    private static void Map()
    {
        Configuration.SetPinFunction(BoardPins.StepTrain, DeviceFunction.PWM1);
        Configuration.SetPinFunction(BoardPins.MotorForward, DeviceFunction.PWM3);
        Configuration.SetPinFunction(BoardPins.MotorBackward, DeviceFunction.PWM4);
        Configuration.SetPinFunction(BoardPins.SerialTransmit, DeviceFunction.COM2_TX);
        Configuration.SetPinFunction(BoardPins.SerialReceive, DeviceFunction.COM2_RX);
        Configuration.SetPinFunction(BoardPins.SupplySense, DeviceFunction.ADC1_CH6);
    }

    // After an exception outside the logic: everything off, and a rapid blink until the power is cycled.
    private static void BlinkForever()
    {
        while (true)
        {
            try
            {
                if (_parts != null)
                {
                    _parts.AllOff();
                    _parts.Led.Set(true);
                    Thread.Sleep(BlinkMs);
                    _parts.Led.Set(false);
                }
            }
            catch (Exception)
            {
                // Try again in the next turn.
            }

            Thread.Sleep(BlinkMs);
        }
    }
}
