using System.Buffers.Binary;
using Contracts.History;
using NodaTime;

namespace Contracts.Store.Reading;

/// <summary>Reads one row of a binary COPY with the columns of <see cref="StoredEvent.Columns"/>.</summary>
internal static class CopyRow
{
    private static readonly Instant Epoch = Instant.FromUtc(2000, 1, 1, 0, 0);

    /// <summary>The event of the row that begins with the given bytes; what follows the row is not looked at.</summary>
    public static Recorded Read(ReadOnlySpan<byte> row)
    {
        var at = 2;
        _ = Field(row, ref at);
        var sequence = BinaryPrimitives.ReadInt64BigEndian(Field(row, ref at));
        var microseconds = BinaryPrimitives.ReadInt64BigEndian(Field(row, ref at));
        var type = Field(row, ref at);
        // The first byte of a jsonb value is the version of its format.
        var data = Field(row, ref at)[1..];
        var headers = Field(row, ref at);
        if (!headers.IsEmpty) { headers = headers[1..]; }
        return StoredEvent.Read(sequence, Epoch.PlusNanoseconds(checked(microseconds * 1000)), type, data, headers);
    }

    private static ReadOnlySpan<byte> Field(ReadOnlySpan<byte> row, ref int at)
    {
        var length = BinaryPrimitives.ReadInt32BigEndian(row[at..]);
        at += 4;
        if (length <= 0) { return default; }
        var field = row.Slice(at, length);
        at += length;
        return field;
    }
}
