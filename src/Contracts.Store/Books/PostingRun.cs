using Contracts.Books;
using Contracts.Store.Writing;
using NodaTime;

namespace Contracts.Store.Books;

/// <summary>
/// Works out the postings of one transaction beside it: of a long batch while the rest of it is still being decided, and
/// what is left while the database writes the events. Of a short one it works at the end and at once, a thread costs more.
/// </summary>
/// <param name="findings">What the transaction decides, and goes on deciding.</param>
/// <param name="clock">Its clock.</param>
/// <param name="books">The books that earlier transactions left. Nobody else may touch them until <see cref="StoppedAsync"/>.</param>
internal sealed class PostingRun(Findings findings, ClockReading clock, RecentlyUsed<LiveBooks> books)
{
    private const int Many = 1000;

    private readonly List<PostingSet> sets = [];
    private Task work = Task.CompletedTask;
    private int taken;

    /// <summary>Told after each command: begins with what was decided so far where that is worth a thread.</summary>
    public void Decided()
    {
        if (findings.Postings.Count - taken < Many) { return; }
        var jobs = Take();
        work = GoOnAsync(work, () => Work(jobs));
    }

    /// <summary>Works out the rest and makes all of it ready to be sent.</summary>
    /// <param name="postings">Where it is made ready.</param>
    /// <param name="atOnce">Whether the caller waits for it anyway.</param>
    public Task<PostingBatch> Finish(PostingBatch postings, bool atOnce)
    {
        var jobs = Take();
        if (atOnce && work.IsCompletedSuccessfully)
        {
            Work(jobs);
            return Task.FromResult(Fill());
        }

        var filled = GoOnAsync(work, () => Work(jobs), Fill);
        work = filled;
        return filled;

        PostingBatch Fill() => postings.Fill([.. sets, .. findings.Sets], clock.Last.InUtc().Date);
    }

    /// <summary>Ends when nothing is worked on any more, whatever became of it.</summary>
    public async Task StoppedAsync() => await work.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);

    private List<PostingJob> Take()
    {
        var jobs = findings.Postings[taken..];
        taken = findings.Postings.Count;
        return jobs;
    }

    private void Work(List<PostingJob> jobs) => sets.AddRange(PostingJob.WorkAll(jobs, clock.OpenFrom, books));

    private static async Task GoOnAsync(Task before, Action work)
    {
        await before.ConfigureAwait(false);
        await Task.Run(work).ConfigureAwait(false);
    }

    private static async Task<PostingBatch> GoOnAsync(Task before, Action work, Func<PostingBatch> then)
    {
        await GoOnAsync(before, work).ConfigureAwait(false);
        return then();
    }
}
