// The board's classes that do more than pass a value on, compiled from the board's own source.

using System.Device.Gpio;
using System.Device.Pwm;
using Hourhinge.Board;

namespace Hourhinge.Tests.Firmware.Board;

public sealed class BoardPartTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-board").FullName;

    public BoardPartTests()
    {
        PwmChannel.All.Clear();
        PwmChannel.Changed = null;
        PwmChannel.Failing = false;
    }

    public void Dispose()
    {
        PwmChannel.Changed = null;
        PwmChannel.Failing = false;
        Directory.Delete(_folder, true);
    }

    [Fact]
    public void A_bridge_never_has_both_inputs_high()
    {
        DcBridge bridge = new(18, 19, 2400);
        PwmChannel forward = PwmChannel.All.Single(c => c.Pin == 18);
        PwmChannel backward = PwmChannel.All.Single(c => c.Pin == 19);
        int changes = 0;
        PwmChannel.Changed = () =>
        {
            changes++;
            Assert.False(forward.OutputDuty > 0 && backward.OutputDuty > 0);
        };
        Random random = new(7);
        for (int i = 0; i < 10_000; i++)
        {
            int duty = random.Next(-12_000, 12_001);
            bridge.SetDutyPerTenThousand(duty);
            int got = (int)(forward.OutputDuty * 10_000) - (int)(backward.OutputDuty * 10_000);
            Assert.Equal(Math.Clamp(duty, -10_000, 10_000), got); // After the runtime's truncation.
        }

        Assert.True(changes > 10_000);
        Assert.True(forward.Running && backward.Running);
    }

    [Fact]
    public void Every_duty_survives_the_truncation_of_the_runtime()
    {
        DcBridge bridge = new(18, 19, 2400);
        PwmChannel forward = PwmChannel.All.Single(c => c.Pin == 18);
        for (int duty = 0; duty <= 10_000; duty++)
        {
            bridge.SetDutyPerTenThousand(duty);
            Assert.Equal(duty, (int)(forward.OutputDuty * 10_000));
        }
    }

    [Fact]
    public void A_single_mosfet_treats_backward_as_off()
    {
        DcBridge gate = new(18, 2400);
        gate.SetDutyPerTenThousand(5000);
        gate.SetDutyPerTenThousand(-5000);
        Assert.Equal(0.0, Assert.Single(PwmChannel.All).OutputDuty);
    }

    [Fact]
    public void A_pin_without_a_pwm_function_is_named()
    {
        InvalidOperationException e = Assert.Throws<InvalidOperationException>(() => Pwm.Open(-1, 100));
        Assert.Contains("-1", e.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void The_step_driver_starts_with_the_coils_off_and_its_pulse_ends_low()
    {
        GpioController pins = new();
        StepDriver driver = new(pins, 25, 26, 27, 13);
        PwmChannel train = Assert.Single(PwmChannel.All);
        Assert.Equal([true], pins.Pins[13].Levels); // Never low: the coils are off from the first moment.
        driver.SetEnabled(true);
        Assert.False(pins.Pins[13].Levels[^1]);
        driver.SetEnabled(false);
        Assert.True(pins.Pins[13].Levels[^1]);
        Assert.Equal(0.0, train.DutyCycle);
        driver.Pulse();
        Assert.Equal([false, false, true, false], pins.Pins[25].Levels);
        driver.RunAtHertz(1500);
        Assert.Equal((1500, 0.75), (train.Frequency, train.OutputDuty));
        driver.RunAtHertz(0);
        Assert.Equal(0.0, train.OutputDuty);
        driver.RunAtHertz(300);
        driver.RunAtHertz(301);
        Assert.Equal((301, 0.75), (train.Frequency, train.OutputDuty));
    }

    [Fact]
    public void Storage_gives_back_what_was_written_and_refuses_what_does_not_fit()
    {
        FileStorage storage = Storage();
        byte[] read = new byte[16];
        Assert.Equal(0, storage.Read(0, 0, read, 0, 16)); // A new board holds nothing.
        Assert.True(storage.Write(0, 8000, [1, 2, 3], 1, 2));
        Assert.Equal(16, storage.Read(0, 7999, read, 0, 16));
        Assert.Equal([0xFF, 2, 3, 0xFF], read[..4]);
        Assert.Equal(0, storage.Read(1, 0, read, 0, 16));
        Assert.Equal(1, storage.Read(0, storage.AreaSizeBytes - 1, read, 0, 16));
        Assert.False(storage.Write(0, storage.AreaSizeBytes - 1, [1, 2], 0, 2));
        Assert.False(storage.Write(0, -1, [1], 0, 1));
    }

    [Fact]
    public void Storage_mends_a_file_that_power_cut_short_while_it_was_filled()
    {
        File.WriteAllBytes(Path.Combine(_folder, "0"), new byte[100]);
        FileStorage storage = Storage();
        Assert.True(storage.Write(0, 4000, [9], 0, 1));
        Assert.Equal(storage.AreaSizeBytes, new FileInfo(Path.Combine(_folder, "0")).Length);
    }

    [Fact]
    public void A_drive_that_fails_is_an_answer_not_an_exception()
    {
        FileStorage storage = new(Path.Combine(_folder, "no", "such", "folder"), _folder);
        Assert.False(storage.Write(0, 0, [1], 0, 1));
        Assert.Equal(0, storage.Read(1, 0, new byte[1], 0, 1));
    }

    [Fact]
    public async Task A_ring_keeps_order_across_two_threads_and_never_waits()
    {
        ByteRing ring = new(97);
        const int Total = 200_000;
        Task writer = Task.Run(() =>
        {
            byte[] block = new byte[31];
            int sent = 0;
            while (sent < Total)
            {
                int count = Math.Min(block.Length, Total - sent);
                for (int i = 0; i < count; i++)
                {
                    block[i] = (byte)((sent + i) * 7 % 251);
                }

                sent += ring.Enqueue(block, 0, count);
            }
        });
        byte[] target = new byte[53];
        int got = 0;
        while (got < Total)
        {
            int count = ring.Dequeue(target, 0, target.Length);
            for (int i = 0; i < count; i++)
            {
                Assert.Equal((byte)((got + i) * 7 % 251), target[i]);
            }

            got += count;
        }

        await writer;
        Assert.Equal(97, ring.Free);
        Assert.Equal(97, ring.Enqueue(new byte[200], 0, 200));
        Assert.Equal(0, ring.Enqueue(new byte[1], 0, 1));
    }

    [Fact]
    public void A_train_that_could_not_be_stopped_is_stopped_at_the_next_try()
    {
        StepDriver driver = new(new GpioController(), 25, 26, 27, 13);
        driver.RunAtHertz(300);
        PwmChannel train = Assert.Single(PwmChannel.All);
        PwmChannel.Failing = true;
        Assert.Throws<InvalidOperationException>(() => driver.RunAtHertz(0));
        PwmChannel.Failing = false;
        driver.RunAtHertz(0);
        Assert.Equal(0.0, train.OutputDuty);
    }

    private FileStorage Storage() => new(Path.Combine(_folder, "0"), Path.Combine(_folder, "1"));
}
