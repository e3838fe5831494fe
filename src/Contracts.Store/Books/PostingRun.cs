using Contracts.Books;
using Contracts.Store.Writing;

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
    private readonly List<PostingSet> sets = [];
    private readonly SideWork beside = new();
    private int taken;

    /// <summary>Told after each command: begins with what was decided so far where that is worth a thread.</summary>
    public void Decided()
    {
        if (findings.Postings.Count - taken >= SideWork.Many) { TakeBeside(); }
    }

    /// <summary>Works out the rest and makes all of it ready to be sent.</summary>
    /// <param name="postings">Where it is made ready.</param>
    /// <param name="atOnce">Whether the caller waits for it anyway, as for a batch of which nothing was begun.</param>
    public async Task<PostingBatch> FinishAsync(PostingBatch postings, bool atOnce)
    {
        if (atOnce)
        {
            Work(Take());
            return Fill(postings);
        }

        TakeBeside();
        beside.Add(() => Fill(postings));
        await beside.Whole.ConfigureAwait(false);
        return postings;
    }

    /// <summary>Ends when nothing is worked on any more, whatever became of it.</summary>
    public Task StoppedAsync() => beside.StoppedAsync();

    private PostingBatch Fill(PostingBatch postings) => postings.Fill([.. sets, .. findings.Sets], clock.Last.InUtc().Date);

    private void TakeBeside()
    {
        // What the batch decides next changes its list, so the thread gets its own.
        var jobs = Take();
        beside.Add(() => Work(jobs));
    }

    private List<PostingJob> Take()
    {
        var jobs = findings.Postings[taken..];
        taken = findings.Postings.Count;
        return jobs;
    }

    private void Work(List<PostingJob> jobs) => sets.AddRange(PostingJob.WorkAll(jobs, clock.OpenFrom, books));
}
