// Signatures of nanoFramework.System.Device.Adc. Compile-time only: no body here ever runs.

namespace System.Device.Adc;

/// <summary>How a channel sees its input.</summary>
public enum AdcChannelMode
{
    SingleEnded,
    Differential,
}

/// <summary>What every channel has.</summary>
public abstract class AdcChannelBase
{
    public AdcController Controller => throw new NotImplementedException();

    public abstract int ReadValue();

    public double ReadRatio() => throw new NotImplementedException();
}

/// <summary>One channel.</summary>
public class AdcChannel : AdcChannelBase, IDisposable
{
    internal AdcChannel()
    {
    }

    public override int ReadValue() => throw new NotImplementedException();

    public void Dispose() => throw new NotImplementedException();
}

/// <summary>What every converter has.</summary>
public abstract class AdcControllerBase
{
    public abstract int ChannelCount { get; }

    public abstract AdcChannelMode ChannelMode { get; set; }

    public abstract int MaxValue { get; }

    public abstract int MinValue { get; }

    public abstract int ResolutionInBits { get; }

    public abstract bool IsChannelModeSupported(AdcChannelMode channelMode);

    public abstract AdcChannel OpenChannel(int channelNumber);
}

/// <summary>The converter.</summary>
public class AdcController : AdcControllerBase
{
    public override int ChannelCount => throw new NotImplementedException();

    public override AdcChannelMode ChannelMode
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public override int MaxValue => throw new NotImplementedException();

    public override int MinValue => throw new NotImplementedException();

    public override int ResolutionInBits => throw new NotImplementedException();

    public override bool IsChannelModeSupported(AdcChannelMode channelMode) => throw new NotImplementedException();

    public override AdcChannel OpenChannel(int channelNumber) => throw new NotImplementedException();
}
