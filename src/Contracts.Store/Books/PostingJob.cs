using Contracts.Books;
using Contracts.History;
using Contracts.Store.Writing;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Store.Books;

/// <summary>A command whose postings are still to be worked out: on all cores, just before they are written.</summary>
/// <param name="Sequence">The first event of the command.</param>
/// <param name="At">The recorded instant.</param>
/// <param name="Before">The contract before the command.</param>
/// <param name="After">The contract after it.</param>
/// <param name="RatesBefore">The rates its lines so far were made by.</param>
/// <param name="Rates">The rates now.</param>
internal sealed record PostingJob(
    long Sequence, Instant At, ContractHistory Before, ContractHistory After, ReferenceData RatesBefore, ReferenceData Rates)
{
    /// <summary>Works out all jobs: those of one contract one after the other, each going on from the books before it.</summary>
    /// <param name="jobs">The jobs in the order of their commands.</param>
    /// <param name="openFrom">The first day of the books that is open.</param>
    /// <param name="books">The books that earlier transactions left; those of these jobs are kept in it.</param>
    public static IReadOnlyList<PostingSet> WorkAll(IReadOnlyList<PostingJob> jobs, LocalDate? openFrom, RecentlyUsed<LiveBooks> books)
    {
        var contracts = Enumerable.Range(0, jobs.Count).GroupBy(index => jobs[index].After.Contract, StringComparer.Ordinal)
            .Select(group => (Contract: group.Key, Jobs: group.ToArray(), Live: books.Find(group.Key))).ToArray();
        var sets = new PostingSet?[jobs.Count];
        if (contracts.Length < 16) { for (var index = 0; index < contracts.Length; index++) { WorkOn(ref contracts[index].Live, contracts[index].Jobs); } }
        else { Parallel.For(0, contracts.Length, index => WorkOn(ref contracts[index].Live, contracts[index].Jobs)); }
        foreach (var (contract, _, live) in contracts)
        {
            if (live is null) { books.Forget(contract); }
            else { books.Keep(contract, live); }
        }

        return [.. sets.OfType<PostingSet>()];

        void WorkOn(ref LiveBooks? live, int[] mine)
        {
            foreach (var index in mine) { sets[index] = jobs[index].Work(openFrom, ref live); }
        }
    }

    /// <summary>What the command adds to the books, or null; it goes on from the books before it where it can.</summary>
    public PostingSet? Work(LocalDate? openFrom, ref LiveBooks? live)
    {
        IReadOnlyList<BookLine> lines;
        if (ReferenceEquals(Before, After)) { (live, lines) = (null, Postings.Difference(Postings.Lines(Before, RatesBefore), Postings.Lines(After, Rates))); }
        else { (live, lines) = LiveBooks.Add(live, Before, After, Rates); }
        return lines.Count == 0
            ? null
            : new PostingSet(Sequence, After.Contract, After.Signing.Shop ?? PostingSet.MainShop, At, openFrom, Postings.PostedThrough(After), lines);
    }
}
