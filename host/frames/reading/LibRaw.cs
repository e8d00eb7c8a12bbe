// LibRaw (https://www.libraw.org, LGPL-2.1 or CDDL-1.0), the system's library of raw decoders, loaded at run time
// through its C API. Only functions are used, and the three fields at the head of its record that have stood at the
// same place since 0.18: image, raw_height and so on. They are compared with what the functions return before any pixel
// is read. Not here: what is done with the pixels (RawReader).
using System.Runtime.InteropServices;

namespace Hourhinge.Frames.Reading;

/// <summary>The system's LibRaw.</summary>
public sealed class LibRaw
{
    /// <summary>Names another library file; "none" behaves as if there were none.</summary>
    public const string Variable = "HOURHINGE_LIBRAW";

    /// <summary>What to install.</summary>
    public const string Install = "install LibRaw (Debian, Ubuntu: apt install libraw-dev; macOS: brew install libraw; "
        + "Windows: libraw.dll beside hourhinge)";

    private const int FirstKnown = 18 << 8;
    private const int AfterKnown = 23 << 8;

    // The thread-safe builds first; then by soname, from LibRaw 0.22 back to 0.18.
    private static readonly string[] _names =
    [
        "libraw_r.so.24", "libraw_r.so.23", "libraw_r.so.20", "libraw_r.so.19", "libraw_r.so.16", "libraw_r.so",
        "libraw.so.24", "libraw.so.23", "libraw.so.20", "libraw.so.19", "libraw.so.16", "libraw.so",
        "libraw_r.dylib", "libraw.dylib", "/opt/homebrew/lib/libraw_r.dylib", "/usr/local/lib/libraw_r.dylib",
        "libraw_r.dll", "libraw.dll", "libraw-23.dll", "libraw-20.dll", "raw.dll",
    ];

    private static readonly Lazy<(LibRaw? Library, string Reason)> _loaded = new(Load);

    private LibRaw(nint library)
    {
        T Get<T>(string name) where T : Delegate =>
            Marshal.GetDelegateForFunctionPointer<T>(NativeLibrary.GetExport(library, name));
        Init = Get<InitCall>("libraw_init");
        OpenBuffer = Get<BufferCall>("libraw_open_buffer");
        Unpack = Get<RecordCall>("libraw_unpack");
        ToImage = Get<RecordCall>("libraw_raw2image");
        RawHeight = Get<RecordCall>("libraw_get_raw_height");
        RawWidth = Get<RecordCall>("libraw_get_raw_width");
        Height = Get<RecordCall>("libraw_get_iheight");
        Width = Get<RecordCall>("libraw_get_iwidth");
        Colour = Get<ColourCall>("libraw_COLOR");
        OnDataError = Get<HandlerCall>("libraw_set_dataerror_handler");
        Close = Get<CloseCall>("libraw_close");
        ErrorText = Get<TextCall>("libraw_strerror");
        int number = Get<NumberCall>("libraw_versionNumber")();
        VersionNumber = number;
        Version = $"{number >> 16}.{(number >> 8) & 255}.{number & 255}";
    }

    [UnmanagedFunctionPointer(CallingConvention.Cdecl)]
    internal delegate nint InitCall(uint flags);

    [UnmanagedFunctionPointer(CallingConvention.Cdecl)]
    internal delegate int BufferCall(nint record, nint bytes, nuint count);

    [UnmanagedFunctionPointer(CallingConvention.Cdecl)]
    internal delegate int RecordCall(nint record);

    [UnmanagedFunctionPointer(CallingConvention.Cdecl)]
    internal delegate int ColourCall(nint record, int row, int column);

    [UnmanagedFunctionPointer(CallingConvention.Cdecl)]
    internal delegate void ErrorCall(nint data, nint file, long offset);

    [UnmanagedFunctionPointer(CallingConvention.Cdecl)]
    internal delegate void HandlerCall(nint record, ErrorCall handler, nint data);

    [UnmanagedFunctionPointer(CallingConvention.Cdecl)]
    internal delegate void CloseCall(nint record);

    [UnmanagedFunctionPointer(CallingConvention.Cdecl)]
    internal delegate nint TextCall(int error);

    [UnmanagedFunctionPointer(CallingConvention.Cdecl)]
    internal delegate int NumberCall();

    internal InitCall Init { get; }

    internal BufferCall OpenBuffer { get; }

    internal RecordCall Unpack { get; }

    /// <summary>Spreads the raw pixels into four colours each, without any interpolation.</summary>
    internal RecordCall ToImage { get; }

    internal RecordCall RawHeight { get; }

    internal RecordCall RawWidth { get; }

    internal RecordCall Height { get; }

    internal RecordCall Width { get; }

    /// <summary>Colour under which a pixel lies: 0 red, 1 and 3 green, 2 blue, 6 for no mosaic.</summary>
    internal ColourCall Colour { get; }

    internal HandlerCall OnDataError { get; }

    internal CloseCall Close { get; }

    internal TextCall ErrorText { get; }

    /// <summary>Version as LibRaw counts it, 0.20.2 for instance.</summary>
    public string Version { get; }

    private int VersionNumber { get; }

    /// <summary>The library, or null and the reason why there is none.</summary>
    public static (LibRaw? Library, string Reason) Loaded =>
        Environment.GetEnvironmentVariable(Variable) == "none"
        ? (null, $"LibRaw is not found; {Install}")
        : _loaded.Value;

    /// <summary>Address of the pixels, four 16-bit numbers each; 0 where the record is laid out in another way than is
    /// known here.</summary>
    internal nint Pixels(nint record)
    {
        // libraw_data_t: image, then sizes: raw_height, raw_width, height, width, two margins, iheight, iwidth.
        int At(int field) => (ushort)Marshal.ReadInt16(record, nint.Size + (2 * field));
        bool known = At(0) == RawHeight(record) && At(1) == RawWidth(record) && At(6) == Height(record)
            && At(7) == Width(record);
        return known ? Marshal.ReadIntPtr(record) : 0;
    }

    /// <summary>An error's text.</summary>
    internal string TextOf(int error) => Marshal.PtrToStringUTF8(ErrorText(error)) ?? $"error {error}";

    private static (LibRaw? Library, string Reason) Load()
    {
        string? given = Environment.GetEnvironmentVariable(Variable);
        foreach (string name in given is { Length: > 0 } ? [given] : _names)
        {
            if (!NativeLibrary.TryLoad(name, out nint handle))
            {
                continue;
            }

            try
            {
                var library = new LibRaw(handle);
                return library.VersionNumber is >= FirstKnown and < AfterKnown
                    ? (library, "")
                    : (null, $"LibRaw {library.Version} is not known here, 0.18 to 0.22 are");
            }
            catch (EntryPointNotFoundException)
            {
                // Another library of that name, or one without the C API.
            }
        }

        return (null, $"LibRaw is not found; {Install}");
    }
}
