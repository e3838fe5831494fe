using Npgsql;

namespace Contracts.Benchmarks.Books;

/// <summary>
/// The floor under writing: the rows that our work left, as PostgreSQL's own binary COPY, into the same tables with
/// their indexes in another database. Nothing is decided, folded, serialised or looked up there.
/// </summary>
internal sealed class CopyFloor(string folder) : IDisposable
{
    private readonly List<(string Table, string File, long Bytes)> parts = [];

    public long Bytes => parts.Sum(part => part.Bytes);

    /// <summary>Keeps rows of a table; a condition, or all.</summary>
    public async Task KeepAsync(BenchStore from, string table, string where = "true")
    {
        var file = Path.Combine(folder, $"floor-{Guid.NewGuid():N}.copy");
        await using var connection = await from.Source.OpenConnectionAsync();
        await using (var target = File.Create(file, 1 << 20))
        await using (var copy = await connection.BeginRawBinaryCopyAsync($"copy (select t.* from contracts.{table} t where {where}) to stdout (format binary)"))
        {
            await copy.CopyToAsync(target, 1 << 16);
        }

        parts.Add((table, file, new FileInfo(file).Length));
    }

    /// <summary>Writes all of it in one transaction.</summary>
    public async Task WriteAsync(BenchStore to)
    {
        await using var connection = await to.Source.OpenConnectionAsync();
        await using var transaction = await connection.BeginTransactionAsync();
        foreach (var (table, file, _) in parts)
        {
            await using var source = new FileStream(file, FileMode.Open, FileAccess.Read, FileShare.Read, 1 << 20);
            await using var copy = await connection.BeginRawBinaryCopyAsync($"copy contracts.{table} from stdin (format binary)");
            await source.CopyToAsync(copy, 1 << 16);
        }

        await transaction.CommitAsync();
    }

    public void Dispose()
    {
        foreach (var part in parts) { File.Delete(part.File); }
    }

    /// <summary>The tables of a load, in the order their keys ask for.</summary>
    public static IReadOnlyList<string> Tables { get; } = ["mt_streams", "mt_events", "command_keys", "posting_sets", "book_cells", "book_months"];
}
