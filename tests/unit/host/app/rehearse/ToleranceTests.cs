namespace Hourhinge.Tests.Host.App.Rehearse;

/// <summary>The exit code of a rehearsal says whether the error stayed within the tolerance.</summary>
public class ToleranceTests
{
    [Fact]
    public void An_error_over_the_tolerance_is_exit_code_1()
    {
        // Arms 2 % longer than the rig file says: the hinge runs 2 % slow, 18 arcsec in a minute.
        string[] rehearsal =
            ["rehearse", Tool.Example("bent-m6-geared"), "--minutes", "1", "--radius-error", "2", "--json"];
        (int code, string output, _) = Tool.Run([.. rehearsal, "--tolerance", "10"]);
        Assert.Equal(1, code);
        Assert.Contains("\"within_tolerance\": false", output, StringComparison.Ordinal);
        Assert.Equal(0, Tool.Run([.. rehearsal, "--tolerance", "60"]).Code);
    }

    [Fact]
    public void A_correction_of_an_error_that_is_not_rehearsed_is_named()
    {
        string rig = Path.Combine(Path.GetTempPath(), $"corrected-{Guid.NewGuid():N}.toml");
        try
        {
            File.WriteAllText(rig, File.ReadAllText(Tool.Example("bent-m6-geared"))
                + "\n[[periodic]]\nperiod_nut_turns = 1\namplitude_um = 14.3\nphase_deg = 20\n");
            string[] rehearsal = ["rehearse", rig, "--minutes", "2"];
            Assert.Contains("corrects a measured periodic error", Tool.Run(rehearsal).Out, StringComparison.Ordinal);
            Assert.DoesNotContain("corrects a measured", Tool.Run([.. rehearsal, "--periodic", "12"]).Out,
                StringComparison.Ordinal);
        }
        finally
        {
            File.Delete(rig);
        }
    }
}
