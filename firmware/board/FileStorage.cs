// Two areas of the module's own flash, one file each on the internal drive. Their contents are the logic's
// (firmware/logic/storage/ProfileStore.cs).

using System;
using System.IO;
using Hourhinge.Firmware.Hardware;
using Hourhinge.Firmware.Storage;

namespace Hourhinge.Board;

/// <summary>
/// Files of a fixed size: the runtime cannot seek past the end of a file, so each is filled once, when it is made.
/// Every write is on the drive when it returns, because the runtime's file stream does not buffer.
/// </summary>
public sealed class FileStorage : IStorage
{
    private const int FillBlock = 256;
    private const byte Erased = 0xFF;

    private readonly string[] _paths;

    /// <summary>Uses the internal drive; makes no file yet.</summary>
    public FileStorage()
        : this("I:\\slot0.bin", "I:\\slot1.bin")
    {
    }

    /// <summary>Uses these two files.</summary>
    public FileStorage(string firstPath, string secondPath)
    {
        _paths = new string[] { firstPath, secondPath };
    }

    /// <inheritdoc/>
    public int AreaSizeBytes => StorageLayout.AreaBytes;

    /// <inheritdoc/>
    public int Read(int area, int offset, byte[] buffer, int index, int count)
    {
        try
        {
            if (!File.Exists(_paths[area]))
            {
                return 0;
            }

            using (FileStream file = new FileStream(_paths[area], FileMode.Open, FileAccess.Read))
            {
                if (offset < 0 || offset >= file.Length)
                {
                    return 0;
                }

                int there = (int)(file.Length - offset);
                file.Seek(offset, SeekOrigin.Begin);
                return file.Read(buffer, index, count < there ? count : there);
            }
        }
        catch (Exception)
        {
            return -1; // A drive that cannot be read: the store reports it.
        }
    }

    /// <inheritdoc/>
    public bool Write(int area, int offset, byte[] buffer, int index, int count)
    {
        if (offset < 0 || count < 0 || offset + count > AreaSizeBytes)
        {
            return false;
        }

        try
        {
            using (FileStream file = new FileStream(_paths[area], FileMode.OpenOrCreate, FileAccess.ReadWrite))
            {
                Fill(file);
                file.Seek(offset, SeekOrigin.Begin);
                file.Write(buffer, index, count);
                return true;
            }
        }
        catch (Exception)
        {
            return false; // Full or worn-out flash; the store keeps the old profile and reports the error.
        }
    }

    private void Fill(FileStream file)
    {
        int length = (int)file.Length;
        if (length >= AreaSizeBytes)
        {
            return;
        }

        byte[] block = new byte[FillBlock];
        for (int i = 0; i < block.Length; i++)
        {
            block[i] = Erased;
        }

        file.Seek(length, SeekOrigin.Begin);
        while (length < AreaSizeBytes)
        {
            int count = AreaSizeBytes - length < block.Length ? AreaSizeBytes - length : block.Length;
            file.Write(block, 0, count);
            length += count;
        }
    }
}
