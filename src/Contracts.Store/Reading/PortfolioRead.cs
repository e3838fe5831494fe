using System.Buffers;
using System.Globalization;
using System.Runtime.CompilerServices;
using System.Threading.Channels;
using Contracts.History;
using Contracts.Store.Writing;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Reading;

/// <summary>
/// Reads the whole portfolio as one binary COPY in the order of contract ids. One task cuts the bytes between
/// contracts; workers turn the pieces into histories; the results come out in the order of the pieces.
/// </summary>
internal sealed class PortfolioRead<TResult>(NpgsqlDataSource source, KnownAt known, Func<ContractHistory, TResult> map)
{
    private const int Workers = 2;
    private const int PieceSize = 1 << 19;

    public async IAsyncEnumerable<List<TResult>> RunAsync([EnumeratorCancellation] CancellationToken stop)
    {
        using var ending = CancellationTokenSource.CreateLinkedTokenSource(stop);
        var pieces = Channel.CreateBounded<Task<List<TResult>>>(new BoundedChannelOptions(Workers) { SingleReader = true });
        var reading = Task.Run(() => ReadAsync(pieces.Writer, ending.Token), CancellationToken.None);
        try
        {
            await foreach (var piece in pieces.Reader.ReadAllAsync(stop).ConfigureAwait(false))
            {
                yield return await piece.ConfigureAwait(false);
            }
        }
        finally
        {
            // Also on the way out when the caller has had enough, or a worker failed.
            await ending.CancelAsync().ConfigureAwait(false);
            await reading.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }
    }

    private async Task ReadAsync(ChannelWriter<Task<List<TResult>>> pieces, CancellationToken stop)
    {
        try
        {
            await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
            await using var copy = await connection.BeginRawBinaryCopyAsync(Sql(), stop).ConfigureAwait(false);
            await CutAsync(copy, pieces, stop).ConfigureAwait(false);
            pieces.Complete();
        }
        catch (Exception fault)
        {
            pieces.Complete(fault);
        }
    }

    private async Task CutAsync(NpgsqlRawCopyStream copy, ChannelWriter<Task<List<TResult>>> pieces, CancellationToken stop)
    {
        var cutter = new CopyCutter();
        var buffer = ArrayPool<byte>.Shared.Rent(PieceSize);
        var filled = 0;
        while (true)
        {
            var read = await copy.ReadAsync(buffer.AsMemory(filled), stop).ConfigureAwait(false);
            filled += read;
            if (read > 0 && filled < buffer.Length) { continue; }

            // A contract larger than the piece makes the piece larger.
            var whole = cutter.LastBoundary(buffer.AsSpan(0, filled), isLast: read == 0);
            var (piece, start, end) = (buffer, cutter.Start, filled);
            if (read > 0)
            {
                // The rest moves on before the piece is handed over: a worker gives its buffer back when it is done.
                buffer = ArrayPool<byte>.Shared.Rent(Math.Max(PieceSize, 2 * (end - whole)));
                piece.AsSpan(whole..end).CopyTo(buffer);
                filled = end - whole;
            }

            if (whole > 0)
            {
                await pieces.WriteAsync(Task.Run(() => MapAndReturn(piece, start..whole), stop), stop).ConfigureAwait(false);
            }
            else
            {
                ArrayPool<byte>.Shared.Return(piece);
            }

            if (read == 0) { return; }
        }
    }

    private List<TResult> MapAndReturn(byte[] piece, Range rows)
    {
        try
        {
            return Map(piece.AsSpan(rows));
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(piece);
        }
    }

    private List<TResult> Map(ReadOnlySpan<byte> piece)
    {
        var results = new List<TResult>();
        var entries = new List<Recorded>();
        var contract = "";
        var isContract = false;
        var rows = new CopyRows(piece);
        while (rows.Next())
        {
            if (!rows.IsOf(contract))
            {
                if (entries.Count > 0) { results.Add(map(ContractHistory.Of(contract, entries))); }
                entries.Clear();
                contract = rows.Contract();
                isContract = StoredEvent.IsContractId(contract);
            }

            if (isContract) { entries.Add(rows.Read()); }
        }

        if (entries.Count > 0) { results.Add(map(ContractHistory.Of(contract, entries))); }
        return results;
    }

    private string Which => known.Size is { } size
        ? string.Create(CultureInfo.InvariantCulture, $"exists (select from audit.leaf l where l.event_seq = e.seq_id and l.leaf_index < {size})")
        : $"e.timestamp <= '{Moments.Text(known.At)}'";

    // COPY takes no parameters; the moment or size is formatted here and nothing else is put in. Which streams are contracts is
    // asked once a stream here, and would be asked of every event there.
    private string Sql() => $"""
        copy (
            select {StoredEvent.Columns} from contracts.mt_events e
            where {Which}
            order by e.stream_id, e.version
        ) to stdout (format binary)
        """;
}
