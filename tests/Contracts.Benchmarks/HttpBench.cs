using System.Diagnostics;
using System.Globalization;
using System.Text.RegularExpressions;
using Contracts.Commands;
using Contracts.Host.Serving;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Logging;

namespace Contracts.Benchmarks;

/// <summary>
/// One account of 60 events over HTTP, beside an empty endpoint that reads the same stream with one select and answers the same bytes. Loads
/// turn by turn: as fast as four connections can, from a process of its own (wrk), and at one fixed rate for both.
/// </summary>
internal sealed partial class HttpBench(Databases databases, Results results, int runs, double? wanted)
{
    private const int Payments = 58;
    private const int Connections = 4;
    private const int Seconds = 5;

    public async Task RunAsync()
    {
        await using var made = await databases.NewAsync();
        string[] lines =
        [
            """{"do":"set-tax","key":"tax","at":"2026-08-01T12:00:00Z","jurisdiction":"J","rate":"0.08","from":"2020-01-01","taxes":{"rent":true}}""",
            """{"do":"sign","key":"sign","at":"2026-09-01T12:00:00Z","contract":"C-1","on":"2026-09-01","household":"H","instrument":{"kind":"clarinet","serial":"S-1","condition":"new"},"state":"OR","jurisdiction":"J","startOn":"2026-09-01","terms":{"cashPrice":"900.00","purchasePrice":"900.00","introductory":{"months":1,"payment":"20.00"},"monthlyRent":"30.00","creditShare":"1.00","earlyPurchase":[{"discount":"0.25"}],"lateFee":{"amount":"5.00","graceDays":7},"returnedPaymentFee":"0.00"},"accessories":[],"planElected":false}""",
            .. Enumerable.Range(0, Payments).Select(number => $$"""{"do":"pay","key":"p-{{number}}","at":"2026-09-01T13:00:00Z","contract":"C-1","on":"2026-09-01","amount":"2.00","method":"cash"}"""),
            """{"do":"hold","key":"hold","at":"2027-06-01T13:00:00Z","contract":"C-1","on":"2027-06-01","reason":"summer"}""",
        ];
        await made.Store.Pipeline.ApplyAsync([.. lines.Select(Request)]);
        await MessageTables.EnsureAsync(made.Store.Connection, CancellationToken.None);
        var key = (await made.Store.Keys.MakeAsync("A bench", "auditor", 1, "An owner")).Text;
        var builder = ContractsHost.Builder(
            made.Store, made.Store.Connection.Everyday, new ApiSettings { Burst = 10_000_000, RequestsPerSecond = 10_000_000 }, new SignInSettings());
        builder.Logging.SetMinimumLevel(LogLevel.Warning);
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        await using var app = builder.Build();
        ContractsHost.Map(app);
        await app.StartAsync();
        var account = $"{app.Urls.Single()}/v1/accounts/C-1?on=2027-06-15&known=2027-06-15";
        using var client = new HttpClient();
        client.DefaultRequestHeaders.Authorization = new("Bearer", key);
        var bytes = await client.GetByteArrayAsync(new Uri(account));
        await using var floor = Floor(made, bytes);
        await floor.StartAsync();
        var empty = $"{floor.Urls.Single()}/";
        var (ours, theirs, rates) = (new List<double>(), new List<double>(), new List<double>());
        var slowest = double.MaxValue;
        for (var run = -1; run < runs; run++)
        {
            var (floor99, floorRate) = await LoadAsync(empty, key);
            var (account99, accountRate) = await LoadAsync(account, key);
            if (run < 0) { continue; }
            ours.Add(account99);
            theirs.Add(floor99);
            rates.Add(accountRate / floorRate);
            slowest = Math.Min(slowest, accountRate);
        }

        // All at one rate that leaves the machine room: the one that was asked for, else half of what the slower one can do.
        var rate = wanted ?? Math.Floor(slowest / 2);
        // The third writes each read down as well, by an insert of its own: what is left between it and the account is not the disk's.
        var (paced, pacedFloor, pacedWritten) = (new List<(double Median, double P99)>(), new List<(double Median, double P99)>(), new List<(double Median, double P99)>());
        for (var run = -1; run < runs; run++)
        {
            var floorTimes = await PacedLoad.RunAsync(empty, key, rate, TimeSpan.FromSeconds(Seconds));
            var writtenTimes = await PacedLoad.RunAsync($"{empty}written", key, rate, TimeSpan.FromSeconds(Seconds));
            var accountTimes = await PacedLoad.RunAsync(account, key, rate, TimeSpan.FromSeconds(Seconds));
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"  run {run}: median and p99 ms: empty {floorTimes.Median:F2} {floorTimes.P99:F2}, with an insert {writtenTimes.Median:F2} {writtenTimes.P99:F2}, account {accountTimes.Median:F2} {accountTimes.P99:F2}"));
            if (run < 0) { continue; }
            pacedWritten.Add(writtenTimes);
            pacedFloor.Add(floorTimes);
            paced.Add(accountTimes);
        }

        results.Fact("fixed rate for both, a second", rate);
        results.Fact("at that rate: account, median ms", Median.Of([.. paced.Select(one => one.Median)]));
        results.Fact("at that rate: empty endpoint, median ms", Median.Of([.. pacedFloor.Select(one => one.Median)]));
        results.Fact("at that rate: empty endpoint that writes the read down, median ms", Median.Of([.. pacedWritten.Select(one => one.Median)]));
        results.Fact("at that rate: account, p99 ms", Median.Of([.. paced.Select(one => one.P99)]));
        results.Fact("at that rate: empty endpoint, p99 ms", Median.Of([.. pacedFloor.Select(one => one.P99)]));
        results.Fact("at that rate: empty endpoint that writes the read down, p99 ms", Median.Of([.. pacedWritten.Select(one => one.P99)]));
        results.Fact("at that rate: ratio of the account's p99 to that of the one that writes it down", Median.Of([.. paced.Zip(pacedWritten, (one, other) => one.P99 / other.P99)]));
        results.Fact("at that rate: ratio of the two p99 (goal 2)", Median.Of([.. paced.Zip(pacedFloor, (one, other) => one.P99 / other.P99)]));

        results.Fact("events of the account", await made.ReadAsync<long>("select count(*) from contracts.mt_events where stream_id = 'C-1'"));
        results.Fact("account over HTTP, p99 ms", Median.Of(ours));
        results.Fact("empty endpoint with one select, p99 ms", Median.Of(theirs));
        results.Fact("ratio of the two, each as fast as it can", Median.Of([.. ours.Zip(theirs, (one, other) => one / other)]));
        results.Fact("ratio of the rates a second", Median.Of(rates));
        results.Fact("reads on record", await made.ReadAsync<long>("select count(*) from access.readings"));
    }

    private static WebApplication Floor(BenchStore made, byte[] bytes)
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.ClearProviders();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        var app = builder.Build();
        app.MapGet("/", async (CancellationToken stop) => await AnswerAsync(stop));
        app.MapGet("/written", async (CancellationToken stop) =>
        {
            await using var command = made.Source.CreateCommand(
                "insert into access.readings (read_by, role, route, contract, purpose) values ('A bench', 'auditor', '/written', 'C-1', 'not said')");
            await command.ExecuteNonQueryAsync(stop);
            return await AnswerAsync(stop);
        });
        return app;

        async Task<IResult> AnswerAsync(CancellationToken stop)
        {
            await using var command = made.Source.CreateCommand("select data from contracts.mt_events where stream_id = 'C-1' order by version");
            await using var reader = await command.ExecuteReaderAsync(stop);
            while (await reader.ReadAsync(stop)) { _ = reader.GetFieldValue<byte[]>(0); }
            return Microsoft.AspNetCore.Http.Results.Bytes(bytes, "application/json");
        }
    }

    /// <summary>The 99th percentile in milliseconds and the requests a second, as wrk measures them.</summary>
    private static async Task<(double P99, double Rate)> LoadAsync(string url, string key)
    {
        var start = new ProcessStartInfo("wrk") { RedirectStandardOutput = true };
        foreach (var part in new[] { "-t", "1", "-c", $"{Connections}", "-d", $"{Seconds}s", "--latency", "-H", $"Authorization: Bearer {key}", url }) { start.ArgumentList.Add(part); }
        using var wrk = Process.Start(start) ?? throw new InvalidOperationException("wrk could not be started; it is a package of most systems.");
        var told = await wrk.StandardOutput.ReadToEndAsync();
        await wrk.WaitForExitAsync();
        if (told.Contains("Non-2xx", StringComparison.Ordinal)) { throw new InvalidOperationException(told); }
        var match = P99().Match(told);
        var rate = double.Parse(Rate().Match(told).Groups[1].Value, CultureInfo.InvariantCulture);
        return (double.Parse(match.Groups[1].Value, CultureInfo.InvariantCulture) * (match.Groups[2].Value switch { "us" => 0.001, "ms" => 1, _ => 1000 }), rate);
    }

    private static CommandRequest Request(string line)
    {
        var (read, refusal) = CommandReader.Read(System.Text.Encoding.UTF8.GetBytes(line));
        return read is null ? throw new InvalidOperationException(refusal!.Detail) : new CommandRequest(read.Command, read.At);
    }

    [GeneratedRegex(@"99%\s+([0-9.]+)(us|ms|s)")]
    private static partial Regex P99();

    [GeneratedRegex(@"Requests/sec:\s+([0-9.]+)")]
    private static partial Regex Rate();
}
