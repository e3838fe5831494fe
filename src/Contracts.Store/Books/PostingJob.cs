using Contracts.Books;
using Contracts.History;
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
    long Sequence, Instant At, ContractHistory Before, ContractHistory After, TaxRates RatesBefore, TaxRates Rates)
{
    public PostingSet? Work(LocalDate? openFrom)
    {
        IReadOnlyList<BookLine> lines = ReferenceEquals(Before, After)
            ? Postings.Difference(Postings.Lines(Before, RatesBefore), Postings.Lines(After, Rates))
            : Postings.Added(Before, After, Rates);
        return lines.Count == 0
            ? null
            : new PostingSet(Sequence, After.Contract, After.Signing.Shop ?? PostingSet.MainShop, At, openFrom, Postings.PostedThrough(After), lines);
    }

    public static IReadOnlyList<PostingSet> WorkAll(IReadOnlyList<PostingJob> jobs, LocalDate? openFrom)
    {
        var sets = new PostingSet?[jobs.Count];
        if (jobs.Count < 16) { for (var index = 0; index < sets.Length; index++) { sets[index] = jobs[index].Work(openFrom); } }
        else { Parallel.For(0, sets.Length, index => sets[index] = jobs[index].Work(openFrom)); }
        return [.. sets.OfType<PostingSet>()];
    }
}
