// The button's gestures. The times are our own choice; the shapes of a bouncing contact are common practice, no source.

using Hourhinge.Firmware.Hardware;
using Hourhinge.Firmware.Panel;

namespace Hourhinge.Tests.Firmware.Board;

public sealed class GestureQueueTests
{
    private readonly Finger _finger = new();
    private readonly GestureQueue _queue;

    public GestureQueueTests()
    {
        _queue = new GestureQueue(_finger, _finger);
        _queue.Dequeue(); // The button is up at power-up.
    }

    [Fact]
    public void A_button_that_is_down_at_power_up_tells_nothing_until_it_was_released()
    {
        _finger.IsActive = true;
        GestureQueue queue = new(_finger, _finger);
        for (int i = 0; i < 600; i++)
        {
            Assert.Equal(Gesture.None, queue.Dequeue());
            _finger.IsActive = i < 500;
            _finger.Wait(10);
        }

        _finger.IsActive = true;
        queue.Edge(true);
        _finger.Wait(GestureQueue.HoldMs);
        Assert.Equal(Gesture.Hold, queue.Dequeue());
    }

    [Fact]
    public void A_short_press_is_told_once_after_the_double_press_time()
    {
        Press(150);
        Assert.Empty(Poll(GestureQueue.DoublePressMs - 20));
        Assert.Equal([Gesture.Press], Poll(200));
        Assert.Empty(Poll(5000));
    }

    [Fact]
    public void Two_presses_close_together_are_one_double_press()
    {
        Press(100);
        Poll(150);
        Press(100);
        Assert.Equal([Gesture.DoublePress], Poll(1000));
    }

    [Fact]
    public void Two_presses_far_apart_are_two_presses()
    {
        Press(100);
        List<int> told = Poll(700);
        Press(100);
        told.AddRange(Poll(700));
        Assert.Equal([Gesture.Press, Gesture.Press], told);
    }

    [Fact]
    public void A_double_press_is_recognised_after_any_number_of_presses()
    {
        for (int before = 0; before < 5; before++)
        {
            Press(100);
            Poll(200);
            Press(100);
            Assert.Equal([Gesture.DoublePress], Poll(1000));
            Press(100);
            Assert.Equal([Gesture.Press], Poll(1000));
        }
    }

    [Fact]
    public void A_hold_is_told_while_the_finger_is_still_there_and_its_release_tells_nothing()
    {
        Down();
        Assert.Empty(Poll(GestureQueue.HoldMs - 20));
        Assert.Equal([Gesture.Hold], Poll(60));
        Assert.Empty(Poll(3000));
        Up();
        Assert.Empty(Poll(3000));
    }

    [Fact]
    public void A_hold_that_nobody_looked_at_is_still_a_hold()
    {
        Down();
        _finger.Wait(2500);
        Up();
        Assert.Equal([Gesture.Hold], Poll(1000));
    }

    [Theory]
    [InlineData(1)]
    [InlineData(5)]
    [InlineData(20)]
    public void Bounces_shorter_than_the_debounce_time_change_nothing(int bounceMs)
    {
        for (int i = 0; i < 6; i++)
        {
            Down();
            _finger.Wait(bounceMs);
            Up();
            _finger.Wait(bounceMs);
        }

        Press(120);
        for (int i = 0; i < 6; i++)
        {
            Down();
            _finger.Wait(bounceMs);
            Up();
            _finger.Wait(bounceMs);
        }

        Assert.Equal([Gesture.Press], Poll(1500));
    }

    [Fact]
    public void Noise_alone_is_no_gesture()
    {
        for (int i = 0; i < 200; i++)
        {
            Down();
            _finger.Wait(3);
            Up();
            _finger.Wait(17);
            Assert.Equal(Gesture.None, _queue.Dequeue());
        }

        Assert.Empty(Poll(3000));
    }

    [Fact]
    public void A_lost_release_does_not_become_a_hold()
    {
        Down();
        Poll(100);
        _finger.IsActive = false; // The finger has gone, and no edge told of it.
        Assert.Equal([Gesture.Press], Poll(5000));
    }

    [Fact]
    public void Nine_gestures_ahead_are_eight()
    {
        for (int i = 0; i < 9; i++)
        {
            Press(100);
            _finger.Wait(1000);
        }

        Assert.Equal(8, Poll(3000).Count);
    }

    private void Down()
    {
        _finger.IsActive = true;
        _queue.Edge(true);
    }

    private void Up()
    {
        _finger.IsActive = false;
        _queue.Edge(false);
    }

    private void Press(int ms)
    {
        Down();
        _finger.Wait(ms);
        Up();
    }

    private List<int> Poll(int forMs)
    {
        List<int> told = [];
        for (int t = 0; t < forMs; t += 10)
        {
            _finger.Wait(10);
            int gesture = _queue.Dequeue();
            if (gesture != Gesture.None)
            {
                told.Add(gesture);
            }
        }

        return told;
    }

    private sealed class Finger : IClock, IInputPin
    {
        public long NowMicroseconds { get; private set; } = 1_000_000;

        public bool IsActive { get; set; }

        public void Wait(int ms) => NowMicroseconds += ms * 1000L;
    }
}
