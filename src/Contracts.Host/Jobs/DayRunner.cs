using Contracts.Store;
using Contracts.Store.Jobs;
using Contracts.Store.Seals;
using NodaTime;

namespace Contracts.Host.Jobs;

/// <summary>Runs the jobs of a day, one after the other. A job that was done is not done again; one that fails does not hold up the others.</summary>
/// <param name="store">The store.</param>
/// <param name="signer">Who signs the heads of the log, or null.</param>
/// <param name="memory">What is remembered from day to day, where many days are run one after the other; else null.</param>
public sealed class DayRunner(ContractsStore store, ISigner? signer, DayMemory? memory = null)
{
    /// <summary>Runs jobs for a day.</summary>
    /// <param name="jobs">Which, in their order.</param>
    /// <param name="day">The day.</param>
    /// <param name="at">The moment at which they record, where the clock is simulated; else null.</param>
    /// <param name="tell">Is told each run when it is over, and whether it was done just now; null for a run that failed before it was noted.</param>
    /// <param name="stop">Gives up between and within jobs.</param>
    /// <returns>How many failed.</returns>
    public async Task<int> RunAsync(IReadOnlyList<DayJob> jobs, LocalDate day, Instant? at, Action<DayJob, JobRun?, bool, string?> tell, CancellationToken stop)
    {
        var failed = 0;
        foreach (var job in jobs)
        {
            try
            {
                var (run, now) = await store.Jobs.RunAsync(
                    job.Name, day, (progress, givenUp) => job.Work(new JobContext(store, signer, day, at, progress, givenUp) { Memory = memory }), stop).ConfigureAwait(false);
                tell(job, run, now, null);
            }
            // Whatever one job meets, the check after it has to run: it is what would say so.
            catch (Exception fault) when (fault is not OperationCanceledException)
            {
                failed++;
                tell(job, await store.Jobs.FindAsync(job.Name, day, CancellationToken.None).ConfigureAwait(false), false, fault.Message);
            }
        }

        return failed;
    }
}
