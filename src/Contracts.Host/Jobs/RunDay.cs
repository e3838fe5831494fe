using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Seals;
using NodaTime;

namespace Contracts.Host.Jobs;

/// <summary>
/// The jobs of the day on which it is handled. It carries no day: one that waited while the host was down does today's work, which makes up for the
/// reminders of a week and bills through today.
/// </summary>
public sealed record RunDay;

/// <summary>Who signs for the jobs of the host.</summary>
/// <param name="Signer">The signer, or null.</param>
public sealed record JobSigner(ISigner? Signer);

/// <summary>Handles the daily message. A job that fails is logged and is begun again by the next message, or by `contracts jobs run`.</summary>
public static partial class RunDayHandler
{
    public static async Task Handle(RunDay message, ContractsStore store, JobSigner signer, ILogger<RunDay> log, CancellationToken stop)
    {
        ArgumentNullException.ThrowIfNull(message);
        var day = (await store.Reader.NowAsync(stop).ConfigureAwait(false)).InZone(Session.Zone).Date;
        await new DayRunner(store, signer.Signer).RunAsync(
            DayJob.All, day, null,
            (job, _, now, fault) =>
            {
                if (fault is not null) { LogFailed(log, job.Name, day, fault); }
                else if (now) { LogDone(log, job.Name, day); }
            },
            stop).ConfigureAwait(false);
    }

    [LoggerMessage(Level = LogLevel.Information, Message = "Job {Job} of {Day} is done.")]
    private static partial void LogDone(ILogger log, string job, LocalDate day);

    [LoggerMessage(Level = LogLevel.Error, Message = "Job {Job} of {Day} failed: {Reason}")]
    private static partial void LogFailed(ILogger log, string job, LocalDate day, string reason);
}
