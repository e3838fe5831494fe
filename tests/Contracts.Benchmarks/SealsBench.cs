using System.Diagnostics;
using System.Security.Cryptography;
using Contracts.Seals;
using Contracts.Store.Seals;
using Npgsql;

namespace Contracts.Benchmarks;

/// <summary>
/// The whole log hashed and verified anew, beside SHA-256 over the same bytes on one thread; and loading with a sealer
/// beside it, next to loading without one.
/// </summary>
internal sealed class SealsBench(Databases databases, Results results, int runs, string folder)
{
    private const int LinesEach = 24;

    /// <summary>All that is hashed of an event: payload, headers, and the entry of its leaf.</summary>
    private const string Bytes = """
        select e.data, e.headers, l.entry from audit.leaf l left join contracts.mt_events e on e.seq_id = l.event_seq
        """;

    public async Task RunAsync(int lines)
    {
        var file = Path.Combine(folder, "seals.jsonl");
        Portfolio.Write(file, lines / LinesEach, LinesEach);
        var signer = new FolderSigner(Path.Combine(folder, "signer"));
        var (plain, beside) = (new List<double>(), new List<double>());
        for (var run = -1; run < runs; run++)
        {
            var (without, with) = (await LoadAsync(file, null), await LoadAsync(file, signer));
            // The first round warms both up and is not counted.
            if (run < 0) { continue; }
            plain.Add(without);
            beside.Add(with);
        }

        results.AtMost($"{lines:N0} lines loaded with a sealer beside", "loaded without one", Median.Of(beside), Median.Of(plain), 1.05);
        await VerifyAsync(file, signer);
    }

    private async Task VerifyAsync(string file, FolderSigner signer)
    {
        await using var made = await databases.NewAsync();
        await Databases.LoadFileAsync(made.Store, file);
        var clock = Stopwatch.StartNew();
        var report = await made.Store.SealerWith(signer).SealAsync();
        results.Fact("events sealed a second", report.Events / clock.Elapsed.TotalSeconds);
        await made.ExecuteAsync("vacuum analyze contracts.mt_events");
        await made.ExecuteAsync("vacuum analyze audit.leaf");
        var (ours, hash, read) = (new List<double>(), new List<double>(), new List<double>());
        for (var run = -1; run < runs; run++)
        {
            clock.Restart();
            var audit = await made.Store.SealAudit.RunAsync(signer);
            var verified = clock.Elapsed.TotalMilliseconds;
            if (audit.Findings.Count > 0) { throw new InvalidOperationException(audit.Findings[0].ToString()); }
            var (hashing, reading) = await FloorAsync(made.Source);
            if (run < 0) { continue; }
            ours.Add(verified);
            hash.Add(hashing);
            read.Add(reading);
        }

        results.AtMost($"{report.Size:N0} leaves checked against every row of the database", "SHA-256 of the same bytes in memory", Median.Of(ours), Median.Of(hash), 0);
        results.AtMost($"{report.Size:N0} leaves checked against every row of the database", "reading the same bytes and SHA-256 of them", Median.Of(ours), Median.Of(read), 0);
        await LogAsync(made.Source, report.Checkpoint!);
    }

    /// <summary>The log by itself: every entry hashed, the whole tree built, the root held against the signed one, on one thread.</summary>
    private async Task LogAsync(NpgsqlDataSource source, StoredCheckpoint head)
    {
        var entries = new List<byte[]>();
        await using (var command = source.CreateCommand("select entry from audit.leaf order by leaf_index"))
        {
            await using var reader = await command.ExecuteReaderAsync();
            while (await reader.ReadAsync()) { entries.Add(reader.GetFieldValue<byte[]>(0)); }
        }

        var (ours, plain) = (new List<double>(), new List<double>());
        for (var run = -1; run < runs * 3; run++)
        {
            var clock = Stopwatch.StartNew();
            var range = new CompactRange();
            foreach (var entry in entries) { range.Append(MerkleTree.LeafHash(entry)); }
            if (range.Root() != head.Root) { throw new InvalidOperationException("The root is another."); }
            var tree = clock.Elapsed.TotalMilliseconds;
            clock.Restart();
            foreach (var entry in entries) { SHA256.HashData(entry); }
            var hashing = clock.Elapsed.TotalMilliseconds;
            if (run < 0) { continue; }
            ours.Add(tree);
            plain.Add(hashing);
        }

        results.AtMost($"{entries.Count:N0} entries of the log hashed to their signed root", "SHA-256 of each entry", Median.Of(ours), Median.Of(plain), 2);
    }

    private async Task<double> LoadAsync(string file, FolderSigner? signer)
    {
        await using var made = await databases.NewAsync();
        using var ending = new CancellationTokenSource();
        await databases.CheckpointAsync();
        var clock = Stopwatch.StartNew();
        var sealing = signer is null ? Task.CompletedTask : Task.Run(async () =>
        {
            var sealer = made.Store.SealerWith(signer);
            while (!ending.IsCancellationRequested)
            {
                await sealer.SealAsync();
                await Task.Delay(TimeSpan.FromSeconds(1), ending.Token).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
            }
        });
        await Databases.LoadFileAsync(made.Store, file);
        var time = clock.Elapsed.TotalMilliseconds;
        await ending.CancelAsync();
        await sealing;
        return time;
    }

    /// <summary>Reads the bytes, and then hashes them alone: the time of hashing, and of both.</summary>
    private static async Task<(double Hash, double Both)> FloorAsync(NpgsqlDataSource source)
    {
        var clock = Stopwatch.StartNew();
        var parts = new List<byte[]>();
        await using (var command = source.CreateCommand(Bytes))
        {
            await using var reader = await command.ExecuteReaderAsync();
            while (await reader.ReadAsync())
            {
                for (var column = 0; column < 3; column++)
                {
                    if (!reader.IsDBNull(column)) { parts.Add(reader.GetFieldValue<byte[]>(column)); }
                }
            }
        }

        var reading = clock.Elapsed.TotalMilliseconds;
        clock.Restart();
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        foreach (var part in parts) { hash.AppendData(part); }
        hash.GetHashAndReset();
        var hashing = clock.Elapsed.TotalMilliseconds;
        return (hashing, reading + hashing);
    }
}
