using System.Buffers.Binary;
using System.Text;
using Npgsql;

namespace Contracts.Store.Reading;

/// <summary>
/// The rows of one range of contracts, taken from a binary COPY in whatever order the table has them, and chained by
/// contract. Reading in the table's order and sorting here costs half of what the index's order costs the server.
/// </summary>
internal sealed class RangeRows
{
    /// <summary>The signature, the flags and the length of the header extension.</summary>
    private const int HeaderLength = 19;
    private const int PieceSize = 1 << 20;

    private readonly List<byte[]> pieces = [];
    private readonly List<Row> rows = [];
    private readonly Dictionary<string, (int First, int Last)> contracts = new(StringComparer.Ordinal);

    /// <summary>Where a row begins, and which row of the same contract comes next; -1 ends the chain.</summary>
    private readonly record struct Row(int Piece, int Start, int Next);

    /// <summary>The contracts of the range, in ordinal order.</summary>
    public string[] InOrder()
    {
        var ids = contracts.Keys.ToArray();
        Array.Sort(ids, StringComparer.Ordinal);
        return ids;
    }

    /// <summary>The rows of one contract, each as the bytes from its beginning on.</summary>
    public IEnumerable<ReadOnlyMemory<byte>> Of(string contract)
    {
        for (var index = contracts[contract].First; index >= 0; index = rows[index].Next)
        {
            yield return pieces[rows[index].Piece].AsMemory(rows[index].Start);
        }
    }

    /// <summary>Takes everything. Blocking on purpose: a worker has nothing else to do, and wakes half as often.</summary>
    public void Fill(NpgsqlRawCopyStream copy, CancellationToken stop)
    {
        var piece = new byte[PieceSize];
        var (filled, start) = (0, HeaderLength);
        while (true)
        {
            stop.ThrowIfCancellationRequested();
            var read = copy.Read(piece.AsSpan(filled));
            filled += read;
            if (read > 0 && filled < piece.Length) { continue; }
            pieces.Add(piece);
            var end = Chain(piece.AsSpan(0, filled), start);
            if (read == 0) { return; }

            // The row that the piece cuts moves whole to the next one; a row larger than a piece makes it larger.
            var rest = filled - end;
            var next = new byte[Math.Max(PieceSize, 2 * rest)];
            piece.AsSpan(end, rest).CopyTo(next);
            (piece, filled, start) = (next, rest, 0);
        }
    }

    /// <summary>Chains the whole rows of a piece; answers where the first row that is not whole begins.</summary>
    private int Chain(ReadOnlySpan<byte> bytes, int at)
    {
        var ids = contracts.GetAlternateLookup<ReadOnlySpan<char>>();
        Span<char> id = stackalloc char[256];
        while (TryMeasure(bytes, at, out var end, out var first))
        {
            var length = Encoding.ASCII.GetChars(first, id);
            var row = rows.Count;
            rows.Add(new Row(pieces.Count - 1, at, -1));
            if (ids.TryGetValue(id[..length], out var chain))
            {
                rows[chain.Last] = rows[chain.Last] with { Next = row };
                ids[id[..length]] = (chain.First, row);
            }
            else
            {
                ids[id[..length]] = (row, row);
            }

            at = end;
        }

        return at;
    }

    private static bool TryMeasure(ReadOnlySpan<byte> bytes, int at, out int end, out ReadOnlySpan<byte> first)
    {
        end = at;
        first = default;
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
            if (field == 0) { first = bytes.Slice(end, length); }
            end += length;
        }

        return true;
    }
}
