using System.Buffers.Binary;

namespace Contracts.Seals;

/// <summary>Entries one after the other, each behind its length in two bytes, big-endian (C2SP tlog-tiles, log entries).</summary>
public static class EntryBundle
{
    /// <summary>The longest entry that a bundle can hold, in bytes.</summary>
    public const int LongestEntry = ushort.MaxValue;

    public static byte[] Write(IReadOnlyCollection<byte[]> entries)
    {
        var bytes = new byte[entries.Sum(entry => 2 + entry.Length)];
        var at = 0;
        foreach (var entry in entries)
        {
            BinaryPrimitives.WriteUInt16BigEndian(bytes.AsSpan(at), checked((ushort)entry.Length));
            entry.CopyTo(bytes, at + 2);
            at += 2 + entry.Length;
        }

        return bytes;
    }

    public static Parsed<IReadOnlyList<byte[]>> Read(ReadOnlySpan<byte> bytes)
    {
        var entries = new List<byte[]>();
        while (!bytes.IsEmpty)
        {
            if (bytes.Length < 2 || bytes.Length - 2 < BinaryPrimitives.ReadUInt16BigEndian(bytes))
            {
                return new SealFault(SealFaultKind.TreeMalformed, "A bundle of entries ends within an entry.");
            }

            var length = BinaryPrimitives.ReadUInt16BigEndian(bytes);
            entries.Add(bytes.Slice(2, length).ToArray());
            bytes = bytes[(2 + length)..];
        }

        return entries.AsReadOnly();
    }
}
