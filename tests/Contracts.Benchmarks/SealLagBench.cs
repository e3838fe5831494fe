using System.Diagnostics;
using System.Globalization;
using System.Text;
using Contracts.Commands;
using Contracts.Host.Sealing;
using Contracts.Store;
using Contracts.Store.Seals;
using Microsoft.Extensions.Logging.Abstractions;
using NodaTime;
using Npgsql;

namespace Contracts.Benchmarks;

/// <summary>
/// How long an event waits for a signed head, with the host's own sealing beside eight writers who record 200 events a second. The wait
/// runs from the event's recorded time, which is before its commit, to the first look that finds the head stored; looks are 10 ms apart.
/// And what the sealing costs the same writers when they record as fast as they can, next to the same without it.
/// </summary>
internal sealed class SealLagBench(Databases databases, Results results, int runs, string folder)
{
    private const int CommandsEach = 1000;

    private const int Writers = 8;
    private const int EventsEachSecond = 200;

    public async Task RunAsync(int seconds)
    {
        await OneAsync();
        await CostAsync();
        await LagAsync(seconds);
    }

    /// <summary>One sealing as the host does it, of 256 events.</summary>
    private async Task OneAsync()
    {
        await using var made = await databases.NewAsync(simulatedClock: false);
        var day = await SignAsync(made.Store);
        var sealer = made.Store.SealerWith(new FolderSigner(Path.Combine(folder, "one")));
        var times = new List<double>();
        for (var round = 0; round < 20; round++)
        {
            for (var number = 0; number < 256; number++) { await ApplyAsync(made.Store, Pay(number % Writers, (round * 256) + number, day)); }
            var clock = Stopwatch.StartNew();
            await sealer.SealAsync();
            times.Add(clock.Elapsed.TotalMilliseconds);
        }

        results.Fact("one sealing of 256 events beside no writer, ms", Median.Of(times));
        results.Fact("one sealing of nothing, ms", await Median.OfAsync(21, () => sealer.SealAsync()));
    }

    private async Task CostAsync()
    {
        var (without, with) = (new List<double>(), new List<double>());
        for (var run = -1; run < runs; run++)
        {
            var (plain, beside) = (await TimeAsync(null), await TimeAsync($"cost-{run + 1}"));
            if (run < 0) { continue; }
            without.Add(plain);
            with.Add(beside);
        }

        results.AtMost(
            $"{Writers} writers record {Writers * CommandsEach:N0} payments as fast as they can, the host's sealing beside them", "the same without it",
            Median.Of(with), Median.Of(without), 1.05);
    }

    private async Task<double> TimeAsync(string? signer)
    {
        await using var made = await databases.NewAsync(simulatedClock: false);
        var day = await SignAsync(made.Store);
        using var sealing = signer is null
            ? null : new BackgroundSealing(made.Store, new FolderSigner(Path.Combine(folder, signer)), NullLogger<BackgroundSealing>.Instance);
        if (sealing is not null) { await sealing.StartAsync(CancellationToken.None); }
        await databases.CheckpointAsync();
        var clock = Stopwatch.StartNew();
        await Task.WhenAll(Enumerable.Range(0, Writers).Select(writer => Task.Run(async () =>
        {
            for (var number = 0; number < CommandsEach; number++) { await ApplyAsync(made.Store, Pay(writer, number, day)); }
        })));
        var time = clock.Elapsed.TotalMilliseconds;
        if (sealing is not null) { await sealing.StopAsync(CancellationToken.None); }
        return time;
    }

    private static string Pay(int writer, int number, string day) =>
        $$"""{"do":"pay","key":"p-{{writer}}-{{number}}","contract":"C-{{writer}}","on":"{{day}}","amount":"0.01","method":"cash"}""";

    /// <summary>A contract for each writer; today's day.</summary>
    private static async Task<string> SignAsync(ContractsStore store)
    {
        await ApplyAsync(store, """{"do":"set-tax","key":"tax","jurisdiction":"J","rate":"0.08","from":"2020-01-01","taxes":{"rent":true}}""");
        var today = (await store.Reader.NowAsync()).InZone(Databases.Zone).Date;
        var day = NodaTime.Text.LocalDatePattern.Iso.Format(today);
        for (var writer = 0; writer < Writers; writer++)
        {
            await ApplyAsync(store, $$"""
                {"do":"sign","key":"sign-{{writer}}","contract":"C-{{writer}}","on":"{{day}}","household":"H","instrument":{"kind":"clarinet","serial":"S-{{writer}}","condition":"new"},"state":"OR","jurisdiction":"J","startOn":"{{day}}","terms":{"cashPrice":"90000.00","purchasePrice":"90000.00","introductory":{"months":1,"payment":"20.00"},"monthlyRent":"3000.00","creditShare":"1.00","earlyPurchase":[{"discount":"0.25"}],"lateFee":{"amount":"5.00","graceDays":7},"returnedPaymentFee":"0.00"},"accessories":[],"planElected":false}
                """.Trim());
        }

        return day;
    }

    private async Task LagAsync(int seconds)
    {
        await using var made = await databases.NewAsync(simulatedClock: false);
        var day = await SignAsync(made.Store);
        using var sealing = new BackgroundSealing(made.Store, new FolderSigner(Path.Combine(folder, "lag-signer")), NullLogger<BackgroundSealing>.Instance);
        using var ending = new CancellationTokenSource();
        await sealing.StartAsync(CancellationToken.None);
        var looking = LookAsync(made.Source, ending.Token);
        await Task.WhenAll(Enumerable.Range(0, Writers).Select(writer => Task.Run(() => WriteAsync(made.Store, writer, seconds, day))));
        await Task.Delay(TimeSpan.FromSeconds(3), CancellationToken.None);
        await ending.CancelAsync();
        var heads = await looking;
        await sealing.StopAsync(CancellationToken.None);
        var waits = await WaitsAsync(made.Source, heads);
        results.Fact("events recorded a second", (double)waits.Count / seconds);
        results.Fact("events that waited", waits.Count);
        results.Fact("wait for a signed head, median, ms", waits[waits.Count / 2]);
        results.Fact("wait for a signed head, 99 of 100 below, ms (goal 2,000)", waits[(int)(waits.Count * 0.99)]);
        results.Fact("wait for a signed head, longest, ms (goal 5,000)", waits[^1]);
    }

    private static async Task WriteAsync(ContractsStore store, int writer, int seconds, string day)
    {
        var clock = Stopwatch.StartNew();
        var pause = TimeSpan.FromSeconds((double)Writers / EventsEachSecond);
        for (var number = 0; clock.Elapsed.TotalSeconds < seconds; number++)
        {
            await ApplyAsync(store, Pay(writer, number, day));
            var next = (number + 1) * pause;
            if (next > clock.Elapsed) { await Task.Delay(next - clock.Elapsed); }
        }
    }

    private static async Task ApplyAsync(ContractsStore store, string line)
    {
        var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line));
        if (read is null) { throw new InvalidOperationException(refusal!.Detail); }
        if ((await store.Pipeline.ApplyAsync([new CommandRequest(read.Command, null)]))[0] is not CommandResult.Applied) { throw new InvalidOperationException(line); }
    }

    private static async Task<List<(long Size, Instant Seen)>> LookAsync(NpgsqlDataSource source, CancellationToken ending)
    {
        var heads = new List<(long Size, Instant Seen)>();
        while (!ending.IsCancellationRequested)
        {
            await using var command = source.CreateCommand("select coalesce(max(size), 0), clock_timestamp() from audit.checkpoint");
            await using (var reader = await command.ExecuteReaderAsync(CancellationToken.None))
            {
                await reader.ReadAsync(CancellationToken.None);
                if (heads.Count == 0 || heads[^1].Size < reader.GetInt64(0)) { heads.Add((reader.GetInt64(0), reader.GetFieldValue<Instant>(1))); }
            }

            await Task.Delay(10, ending).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }

        return heads;
    }

    private static async Task<List<double>> WaitsAsync(NpgsqlDataSource source, List<(long Size, Instant Seen)> heads)
    {
        var waits = new List<double>();
        await using var command = source.CreateCommand(
            "select l.leaf_index, e.timestamp from contracts.mt_events e left join audit.leaf l on l.event_seq = e.seq_id where e.type = 'payment_received'");
        await using var reader = await command.ExecuteReaderAsync();
        while (await reader.ReadAsync())
        {
            if (reader.IsDBNull(0)) { throw new InvalidOperationException("An event was never sealed."); }
            var index = reader.GetInt64(0);
            var head = heads.Find(one => one.Size > index);
            if (head.Size == 0) { throw new InvalidOperationException(string.Create(CultureInfo.InvariantCulture, $"Leaf {index} was never signed.")); }
            waits.Add((head.Seen - reader.GetFieldValue<Instant>(1)).TotalMilliseconds);
        }

        waits.Sort();
        return waits;
    }
}
