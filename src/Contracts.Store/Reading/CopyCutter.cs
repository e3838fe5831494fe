using System.Buffers.Binary;

namespace Contracts.Store.Reading;

/// <summary>Finds where one contract's rows end and the next one's begin in a binary COPY.</summary>
internal sealed class CopyCutter
{
    /// <summary>The signature, the flags and the length of the header extension.</summary>
    private const int HeaderLength = 19;

    private bool seen;

    /// <summary>Where rows begin in the bytes last looked at: after the header, the first time.</summary>
    public int Start { get; private set; }

    /// <summary>
    /// The end of the last whole contract; of everything when the bytes are the last. Zero: not one is whole yet.
    /// </summary>
    public int LastBoundary(ReadOnlySpan<byte> bytes, bool isLast)
    {
        Start = seen ? 0 : HeaderLength;
        var (at, boundary) = (Start, 0);
        var contract = ReadOnlySpan<byte>.Empty;
        while (NextRow(bytes, at, out var end, out var id))
        {
            if (!id.SequenceEqual(contract))
            {
                boundary = at;
                contract = id;
            }

            at = end;
        }

        var cut = isLast ? at : boundary > Start ? boundary : 0;
        if (cut > 0) { seen = true; }
        return cut;
    }

    private static bool NextRow(ReadOnlySpan<byte> bytes, int at, out int end, out ReadOnlySpan<byte> id)
    {
        end = at;
        id = default;
        if (bytes.Length < at + 2) { return false; }
        int fields = BinaryPrimitives.ReadInt16BigEndian(bytes[at..]);
        if (fields < 0) { return false; }
        end = at + 2;
        for (var field = 0; field < fields; field++)
        {
            if (bytes.Length < end + 4) { return false; }
            var length = Math.Max(0, BinaryPrimitives.ReadInt32BigEndian(bytes[end..]));
            end += 4;
            if (bytes.Length < end + length) { return false; }
            if (field == 0) { id = bytes.Slice(end, length); }
            end += length;
        }

        return true;
    }
}
