using System.Buffers;
using System.Diagnostics;
using System.Text.Json;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Store;
using NodaTime;
using Npgsql;

namespace Contracts.Benchmarks;

/// <summary>Each goal beside its floor or peer, on one server, in one run; what is quoted is the ratio.</summary>
internal sealed class Bench(Databases databases)
{
    /// <summary>Loading a command file against Marten's own bulk append of the same events.</summary>
    public async Task LoadAsync(int lines, string folder)
    {
        const int perContract = 24;
        var file = Path.Combine(folder, "load.jsonl");
        await WarmUpAsync(folder);
        var count = Portfolio.Write(file, lines / perContract, perContract);
        await using var made = await databases.NewAsync();
        var store = made.Store;
        var processor = Process.GetCurrentProcess().TotalProcessorTime;
        var clock = Stopwatch.StartNew();
        var summary = await Databases.LoadFileAsync(store, file);
        var load = clock.Elapsed;
        processor = Process.GetCurrentProcess().TotalProcessorTime - processor;
        var events = await MartenPeer.EventsAsync(store);
        await using var peer = await databases.NewAsync(asOwner: true);
        clock.Restart();
        await MartenPeer.BulkInsertAsync(peer.Store, events);
        var bulk = clock.Elapsed;
        var (ours, theirs) = (summary.Applied / load.TotalSeconds, events.Sum(stream => stream.Events.Count) / bulk.TotalSeconds);
        foreach (var code in summary.Refused.GroupBy(line => line.Refusal.Slug)) { Console.WriteLine($"refused {code.Key}: {code.Count():N0}"); }
        Console.WriteLine($"load: {count:N0} lines, {summary.Applied:N0} applied, {summary.Refused.Count:N0} refused in {load.TotalSeconds:F2} s ({processor.TotalSeconds:F2} s of our own processors): {ours:N0} commands/s");
        Console.WriteLine($"Marten bulk append of the same events: {bulk.TotalSeconds:F2} s: {theirs:N0} events/s");
        Console.WriteLine($"ratio load / bulk append: {ours / theirs:F2} (goal: at least 0.25)");
    }

    /// <summary>Every account of a portfolio against COPY of the same events out of PostgreSQL; one account warm.</summary>
    public async Task AccountsAsync(int contracts, string folder)
    {
        const int perContract = 24;
        var file = Path.Combine(folder, "accounts.jsonl");
        Portfolio.Write(file, contracts, perContract);
        await using var made = await databases.NewAsync();
        var store = made.Store;
        var clock = Stopwatch.StartNew();
        var summary = await Databases.LoadFileAsync(store, file);
        Console.WriteLine($"portfolio: {contracts:N0} contracts, {summary.Applied:N0} commands loaded in {clock.Elapsed.TotalSeconds:F1} s");
        var source = made.Source;
        await made.ExecuteAsync("vacuum analyze contracts.mt_events");
        var (copies, rows, folds) = (new List<double>(), new List<double>(), new List<double>());
        var cpu = TimeSpan.Zero;
        for (var round = 0; round < 3; round++)
        {
            copies.Add(await CopyAsync(source, "data"));
            rows.Add(await CopyAsync(source, "stream_id, seq_id, timestamp, type, data, headers"));
            var before = Process.GetCurrentProcess().TotalProcessorTime;
            folds.Add(await FoldAllAsync(store));
            cpu = Process.GetCurrentProcess().TotalProcessorTime - before;
        }

        copies.Sort();
        rows.Sort();
        folds.Sort();
        Console.WriteLine($"COPY of the events' data alone: {copies[1]:F2} s (median of 3)");
        Console.WriteLine($"COPY of the events with stream, sequence, time, name and headers: {rows[1]:F2} s (median of 3)");
        Console.WriteLine($"accounts as JSON lines: {folds[1]:F2} s (median of 3), {cpu.TotalSeconds:F2} s of it our own processor time, peak memory {Process.GetCurrentProcess().PeakWorkingSet64 / 1e6:N0} MB");
        Console.WriteLine($"ratio accounts / COPY of the events: {folds[1] / rows[1]:F2} (goal: at most 3); / COPY of data alone: {folds[1] / copies[1]:F2}");
        await OneAccountAsync(store);
    }

    /// <summary>Both sides run compiled: the peer comes second, and would otherwise be the only one that is warm.</summary>
    private async Task WarmUpAsync(string folder)
    {
        var file = Path.Combine(folder, "warm-up.jsonl");
        Portfolio.Write(file, 200, 24);
        await using var made = await databases.NewAsync();
        var store = made.Store;
        await Databases.LoadFileAsync(store, file);
        await using var peer = await databases.NewAsync(asOwner: true);
        await MartenPeer.BulkInsertAsync(peer.Store, await MartenPeer.EventsAsync(store));
    }

    private static async Task<double> CopyAsync(NpgsqlDataSource source, string columns)
    {
        await using var opened = await source.OpenConnectionAsync();
        var clock = Stopwatch.StartNew();
        await using var copy = await opened.BeginRawBinaryCopyAsync(
            $"copy (select {columns} from contracts.mt_events) to stdout (format binary)");
        var buffer = new byte[1 << 16];
        while (await copy.ReadAsync(buffer, CancellationToken.None) > 0) { }
        return clock.Elapsed.TotalSeconds;
    }

    private static async Task<double> FoldAllAsync(ContractsStore store)
    {
        var clock = Stopwatch.StartNew();
        var known = await store.Reader.NowAsync();
        var rates = await store.Reader.RatesAsync(known);
        var on = new LocalDate(2026, 6, 30);
        var bytes = 0L;
        await foreach (var line in store.Reader.MapHistoriesAsync(known, history => Line(history)))
        {
            bytes += line;
        }

        return clock.Elapsed.TotalSeconds;

        int Line(ContractHistory history)
        {
            if (AccountFold.At(history, rates, on) is not { } state) { return 0; }
            var buffer = new ArrayBufferWriter<byte>(1536);
            using (var json = new Utf8JsonWriter(buffer)) { AccountJson.Write(json, Account.Of(state, known)); }
            return buffer.WrittenCount;
        }
    }

    private static async Task OneAccountAsync(ContractsStore store)
    {
        var known = await store.Reader.NowAsync();
        var times = new List<double>();
        for (var round = 0; round < 500; round++)
        {
            var clock = Stopwatch.StartNew();
            var history = await store.Reader.HistoryAsync($"C-{round:000000}", known);
            var rates = await store.Reader.RatesAsync(known);
            _ = Account.Of(AccountFold.At(history!, rates, new LocalDate(2026, 6, 30))!, known);
            times.Add(clock.Elapsed.TotalMilliseconds);
        }

        times.Sort();
        Console.WriteLine($"one account, warm: median {times[250]:F2} ms, p99 {times[495]:F2} ms (goal: under 10 ms)");
    }
}
