// Nights at the tracker: upload, an hour of tracking, rewind, button, shutter, site editing, DC drives, power cuts.

#nullable disable

using Hourhinge.SharedMath.Profile;

namespace Hourhinge.DeviceTests.Programs;

/// <summary>The whole controller, in virtual time.</summary>
public static class NightProgram
{
    // The hour runs at slower passes unless everything is to run at its full size.
    private const int PassMs = 20;
    private const int SlowPassMs = 50;
    private const int PassesPerSec = 1000 / PassMs;

    /// <summary>Prints what the controller does.</summary>
    public static void Run()
    {
        for (int i = 0; i < Inputs.Profiles.Length; i++)
        {
            Out.Line("night " + i);
            int passMs = Inputs.IsFullSize ? PassMs : SlowPassMs;

            // The hour by single pulses, the others by the pulse train.
            Track(Inputs.Profiles[i], i == 3 ? 60 : 3, passMs, i != 3);
        }

        LoseCounter();
        Rewinds();
        Button();
        Shoot();
        EditAtSite();
        PowerCuts();
    }

    private static FakeController On(byte[] profile, FakeFlash flash, int passMs)
    {
        ProfileCodec codec = new ProfileCodec();
        DriveProfile decoded = codec.Decode(profile, 0, profile.Length);
        int kind = decoded.DriveKind;
        FakeController controller = new FakeController(flash, passMs, kind != DriveProfile.Stepper,
            kind == DriveProfile.DcClosedLoop);
        if (kind != DriveProfile.Stepper)
        {
            DcSettings dc = decoded.Dc;
            int last = dc.CurveDuty.Length - 1;
            controller.Board.Motor.FullSpeed = dc.CurveMilliCountsPerSec[last] * 10L / dc.CurveDuty[last];
        }

        controller.Upload(profile);
        return controller;
    }

    // Reported every minute.
    private static void Track(byte[] profile, int minutes, int passMs, bool isCounted)
    {
        FakeController controller = On(profile, new FakeFlash(), passMs);
        controller.Board.Stepper.IsWired = isCounted;
        controller.Tell("MOT:POS:DECL 0");
        controller.Ask("INIT;:MOT:STAT?");
        for (int minute = 1; minute <= minutes; minute++)
        {
            controller.Pass(60000 / passMs);
            controller.Report("minute " + minute + ", " + controller.Board.Stepper.Hertz + " Hz");
        }

        controller.Ask("ABOR;:MOT:STAT?;POS?;:SYST:ERR?");
    }

    // The wire to the step counter comes off while the train tracks.
    private static void LoseCounter()
    {
        FakeController controller = On(Inputs.Profiles[1], new FakeFlash(), PassMs);
        controller.Board.Stepper.IsWired = true;
        controller.Tell("MOT:POS:DECL 0");
        controller.Ask("INIT;:MOT:STAT?");
        controller.Pass(3 * PassesPerSec);
        controller.Report("counted, " + controller.Board.Stepper.Hertz + " Hz");
        controller.Board.Stepper.IsWired = false;
        controller.Pass(PassesPerSec / 2);
        controller.Report("not counted, " + controller.Board.Stepper.Hertz + " Hz");
        controller.Ask("MOT:FAUL?;TRA?");
    }

    // From a twentieth of the travel, at four speeds of the loop.
    private static void Rewinds()
    {
        for (int i = 0; i < Inputs.Profiles.Length; i++)
        {
            for (int passMs = 10; passMs <= 50; passMs = passMs == 10 ? 20 : passMs == 20 ? 30 : passMs + 20)
            {
                FakeController controller = On(Inputs.Profiles[i], new FakeFlash(), passMs);
                if (controller.Board.IsDc)
                {
                    continue;
                }

                long from = controller.Machine.Controller.EndCounts / 20;
                controller.Board.Stepper.Position = from;
                controller.Machine.Controller.DeclarePosition(from);
                controller.Tell("REW");
                long began = controller.Clock.Us;
                controller.PassUntilRest(1000000);
                controller.Report("rewind " + i + " at " + passMs + " ms, " + ((controller.Clock.Us - began) / 1000)
                    + " ms");
            }
        }
    }

    private static void Button()
    {
        FakeController controller = On(Inputs.Profiles[0], new FakeFlash(), PassMs);
        controller.Report("before");
        int[] presses = { 8, 8, 4, 4, 125, 8, 1, 8 };
        for (int i = 0; i < presses.Length; i++)
        {
            controller.Button.IsHeld = true;
            controller.Pass(presses[i]);
            controller.Button.IsHeld = false;
            controller.Pass(i == 2 ? 5 : 150);
            controller.Report("button " + presses[i]);
        }
    }

    private static void Shoot()
    {
        FakeController controller = On(Inputs.Profiles[0], new FakeFlash(), PassMs);
        controller.Ask("SHUT:COUN 4;EXP 3;GAP 1;SETT 0.5;DITH 3;:SHUT:COUN?");
        controller.Tell("MOT:POS:DECL 0");
        controller.Ask("INIT;:SHUT:STAR;:SYST:ERR?");
        for (int i = 0; i < 24; i++)
        {
            controller.Pass(PassesPerSec);
            controller.Report("second " + i);
        }
    }

    private static void EditAtSite()
    {
        FakeController controller = On(Inputs.Profiles[0], new FakeFlash(), PassMs);
        controller.Ask("RIG:ARM:NUT?");
        controller.Ask("RIG:ROD:LONG 140.25;:RIG:APPL;:SYST:ERR?");
        controller.Ask("RIG:RATE MOON;:RIG:APPL;:SYST:ERR?");
        controller.Ask("PROF:DATA?");
        controller.Ask("RIG:ROD:LONG 1;:RIG:APPL;:SYST:ERR?");
        controller.Report("edited");
    }

    // The second profile replaces the first; the power fails before every hundredth byte, and near the ends.
    private static void PowerCuts()
    {
        FakeFlash first = new FakeFlash();
        On(Inputs.Profiles[0], first, 1);
        byte[] next = Inputs.Profiles[1];
        int step = 1;
        for (int cut = 0; cut <= next.Length + 48; cut += step)
        {
            FakeFlash flash = new FakeFlash();
            flash.CopyFrom(first);
            flash.CutAfter = cut;
            On(next, flash, 1);
            FakeFlash after = new FakeFlash();
            after.CopyFrom(flash);
            FakeController again = new FakeController(after, 1, false, false);
            DriveProfile profile = again.Machine.Store.Profile;
            Out.Line("cut " + cut + " " + (profile == null ? "none" : profile.RigName) + " "
                + again.Machine.Store.Sequence);
            step = cut < 30 || cut >= next.Length + 20 ? 1 : 37;
        }
    }
}
