using System.Buffers.Binary;
using System.Text;
using Contracts.History;
using NodaTime;

namespace Contracts.Store.Reading;

/// <summary>Walks the rows of a piece of a binary COPY with the columns of <see cref="StoredEvent.Columns"/>.</summary>
internal ref struct CopyRows(ReadOnlySpan<byte> piece)
{
    private static readonly Instant Epoch = Instant.FromUtc(2000, 1, 1, 0, 0);

    private readonly ReadOnlySpan<byte> piece = piece;
    private ReadOnlySpan<byte> contract;
    private ReadOnlySpan<byte> type;
    private ReadOnlySpan<byte> data;
    private ReadOnlySpan<byte> headers;
    private long sequence;
    private long microseconds;
    private int at;

    public bool Next()
    {
        if (at + 2 > piece.Length || BinaryPrimitives.ReadInt16BigEndian(piece[at..]) < 0) { return false; }
        at += 2;
        contract = Field();
        sequence = BinaryPrimitives.ReadInt64BigEndian(Field());
        microseconds = BinaryPrimitives.ReadInt64BigEndian(Field());
        type = Field();
        // The first byte of a jsonb value is the version of its format.
        data = Field()[1..];
        headers = Field();
        if (!headers.IsEmpty) { headers = headers[1..]; }
        return true;
    }

    public readonly bool IsOf(string id) => id.Length == contract.Length && Ascii.Equals(contract, id);

    public readonly string Contract() => Encoding.ASCII.GetString(contract);

    public readonly Recorded Read() =>
        StoredEvent.Read(sequence, Epoch.PlusNanoseconds(checked(microseconds * 1000)), type, data, headers);

    private ReadOnlySpan<byte> Field()
    {
        var length = BinaryPrimitives.ReadInt32BigEndian(piece[at..]);
        at += 4;
        if (length <= 0) { return default; }
        var field = piece.Slice(at, length);
        at += length;
        return field;
    }
}
