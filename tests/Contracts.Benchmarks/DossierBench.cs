using System.Diagnostics;
using System.Text;
using Contracts.Commands;
using Contracts.Store;
using Contracts.Store.Dossiers;
using Contracts.Store.Seals;
using NodaTime;

namespace Contracts.Benchmarks;

/// <summary>A dossier of a contract with 60 events, five of them papers: how long it takes to make and to verify, and how large it is.</summary>
internal sealed class DossierBench(Databases databases, Results results, int runs, string folder)
{
    private const int Payments = 52;
    private const int Papers = 5;

    public async Task RunAsync()
    {
        await using var made = await databases.NewAsync();
        var lines = new List<string>
        {
            """{"do":"set-tax","key":"tax","at":"2026-08-01T12:00:00Z","jurisdiction":"J","rate":"0.08","from":"2020-01-01","taxes":{"rent":true}}""",
            """{"do":"sign","key":"sign","at":"2026-09-01T12:00:00Z","contract":"C-1","on":"2026-09-01","household":"H","instrument":{"kind":"clarinet","serial":"S-1","condition":"new"},"state":"OR","jurisdiction":"J","startOn":"2026-09-01","terms":{"cashPrice":"900.00","purchasePrice":"900.00","introductory":{"months":1,"payment":"20.00"},"monthlyRent":"30.00","creditShare":"1.00","earlyPurchase":[{"discount":"0.25"}],"lateFee":{"amount":"5.00","graceDays":7},"returnedPaymentFee":"0.00"},"accessories":[],"planElected":false}""",
        };
        lines.AddRange(Enumerable.Range(0, Payments).Select(number =>
            $$"""{"do":"pay","key":"p-{{number}}","at":"2026-09-01T13:00:00Z","contract":"C-1","on":"2026-09-01","amount":"2.00","method":"cash"}"""));
        lines.AddRange(Enumerable.Range(0, Papers).Select(number =>
            $$"""{"do":"issue","key":"r-{{number}}","at":"2026-09-02T13:00:00Z","contract":"C-1","on":"2026-09-01","kind":"receipt","for":"p-{{number}}"}"""));
        foreach (var result in await made.Store.Pipeline.ApplyAsync([.. lines.Select(Request)]))
        {
            if (result is CommandResult.Refused refused) { throw new InvalidOperationException(refused.Refusal.Detail); }
        }

        var signer = new FolderSigner(Path.Combine(folder, "dossier-signer"));
        await made.Store.SealerWith(signer).SealAsync(anchor: true);
        var request = new DossierRequest("C-1", new LocalDate(2026, 9, 30), Instant.FromUtc(2026, 10, 1, 0, 0), Instant.FromUtc(2026, 10, 1, 0, 0), "ada", "a benchmark (invented)");
        var events = await made.ReadAsync<long>("select count(*) from contracts.mt_events where stream_id = 'C-1'");
        var (making, verifying, bytes) = (new List<double>(), new List<double>(), Array.Empty<byte>());
        for (var run = -1; run < runs; run++)
        {
            var clock = Stopwatch.StartNew();
            bytes = await made.Store.Dossiers.MakeAsync(request, signer);
            var took = clock.Elapsed.TotalMilliseconds;
            clock.Restart();
            if (DossierVerifier.Verify(bytes).Standing != DossierStanding.Holds) { throw new InvalidOperationException("The dossier does not hold."); }
            var verified = clock.Elapsed.TotalMilliseconds;
            if (run < 0)
            {
                results.Fact("first dossier of the process, ms (goal 1,000)", took);
                continue;
            }

            making.Add(took);
            verifying.Add(verified);
        }

        results.Fact("events in the dossier", events);
        results.Fact("bytes of the dossier (goal 300,000)", bytes.Length);
        results.Fact("made and verified before it is handed out, ms (goal 1,000)", Median.Of(making));
        results.Fact("verified alone, ms", Median.Of(verifying));
    }

    private static CommandRequest Request(string line)
    {
        var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line));
        return read is null ? throw new InvalidOperationException(refusal!.Detail) : new CommandRequest(read.Command, read.At);
    }
}
