// Flash this on a module and divide: a figure of MOTION-COST.md in loop turns, by the turns a second printed here, is
// that figure in seconds on your module.
using System;
using System.Diagnostics;

public static class BoardLoop
{
    public static void Main()
    {
        while (true)
        {
            Measure();
        }
    }

    public static void Measure()
    {
        long began = DateTime.UtcNow.Ticks;
        int sum = 0;
        for (int i = 0; i < 1000000; i++)
        {
            sum += i;
        }

        long ms = (DateTime.UtcNow.Ticks - began) / 10000;
        Debug.WriteLine("1000000 turns in " + ms + " ms (" + sum + ")");
    }
}
