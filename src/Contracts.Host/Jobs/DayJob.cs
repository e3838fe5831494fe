using System.Collections.Concurrent;
using Contracts.History;
using Contracts.Host.Replay;
using Contracts.Host.Reconstruct;
using Contracts.Store;
using Contracts.Store.Reading;
using Contracts.Store.Seals;
using NodaTime;

namespace Contracts.Host.Jobs;

/// <summary>What a job is given.</summary>
/// <param name="Store">The store.</param>
/// <param name="Signer">Who signs the heads of the log, or null.</param>
/// <param name="Day">The day that the job is for.</param>
/// <param name="At">The moment at which it records, where the clock is simulated; else null.</param>
/// <param name="Progress">Is told how many of how many things were looked at.</param>
/// <param name="Stop">Gives up; what was recorded stays, and the next run goes on.</param>
public sealed record JobContext(
    ContractsStore Store, ISigner? Signer, LocalDate Day, Instant? At, IProgress<(long Done, long? Total)> Progress, CancellationToken Stop)
{
    /// <summary>What is remembered from the days before, or null where a day is run by itself.</summary>
    public DayMemory? Memory { get; init; }
}

/// <summary>What a run through many days remembers between them: histories and heads of streams only ever grow, so that each day reads what is new.</summary>
/// <param name="Histories">The contracts.</param>
/// <param name="Heads">The heads of all streams.</param>
public sealed record DayMemory(HistoryMemory Histories, HeadMemory Heads)
{
    private readonly ConcurrentDictionary<string, (ContractHistory History, LocalDate Through)> quiet = new(StringComparer.Ordinal);

    /// <summary>Whether it is known that a day asks for nothing about a contract: of this very history, to which nothing was added since.</summary>
    internal bool IsQuiet(ContractHistory history, LocalDate day) =>
        quiet.TryGetValue(history.Contract, out var known) && ReferenceEquals(known.History, history) && day <= known.Through;

    internal void Quieten(ContractHistory history, LocalDate through) => quiet[history.Contract] = (history, through);

    /// <summary>A memory with nothing in it yet.</summary>
    public static DayMemory Of(ContractsStore store) => new(store.Reader.Remember(), new HeadMemory());
}

/// <summary>One of the jobs that every day has.</summary>
/// <param name="Name">Its name, as the list of jobs and the command line have it.</param>
/// <param name="Says">What it does, in a sentence.</param>
/// <param name="Work">The work; what came of it as JSON.</param>
public sealed record DayJob(string Name, string Says, Func<JobContext, Task<string>> Work)
{
    /// <summary>Who gives the commands of the jobs.</summary>
    public const string Actor = "clock";

    /// <summary>All jobs, in the order in which a day runs them: what is billed is listed, what was recorded is sealed, what was sealed is checked.</summary>
    public static IReadOnlyList<DayJob> All { get; } =
    [
        new("billing", "Records what fell due, for every contract.", BillingJob.RunAsync),
        new(
            "notices", "Makes the notices of late and of last payments, and lists whom to remind of a payment, of a unit due back, of the end of a reinstatement.",
            NoticesJob.RunAsync),
        new("seals", "Seals what waits and commits to the heads of all streams.", SealAsync),
        new("check", "Checks every history, seal and read model.", CheckAsync),
        new("watch", "Holds every invariant over every account after every event.", WatchAsync),
    ];

    private static async Task<string> SealAsync(JobContext job)
    {
        var report = await job.Store.SealerWith(job.Signer, job.Memory?.Heads).SealAsync(anchor: true, job.Stop).ConfigureAwait(false);
        return AccountPrinter.Json(json =>
        {
            json.WriteStartObject();
            json.WriteNumber("alarms", report.Alarms.Count);
            json.WriteEndObject();
        });
    }

    private static async Task<string> CheckAsync(JobContext job) =>
        CheckCommand.Json(await CheckCommand.RunAsync(job.Store, job.Signer, _ => { }, job.Stop).ConfigureAwait(false));

    private static async Task<string> WatchAsync(JobContext job)
    {
        var report = await InvariantWatch.RunAsync(job.Store, job.Stop).ConfigureAwait(false);
        return AccountPrinter.Json(json =>
        {
            json.WriteStartObject();
            json.WriteNumber("contracts", report.Contracts);
            json.WriteNumber("events", report.Events);
            json.WriteStartArray("breaches");
            foreach (var breach in report.Breaches)
            {
                json.WriteStartObject();
                json.WriteString("contract", breach.Contract);
                json.WriteString("figure", breach.What.Figure);
                json.WriteString("explain", InvariantWatch.Explain(breach));
                json.WriteEndObject();
            }

            json.WriteEndArray();
            json.WriteEndObject();
        });
    }
}
