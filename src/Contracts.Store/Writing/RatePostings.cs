using Contracts.Agreements;
using Contracts.History;
using Contracts.Store.Books;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>A rate for days that are posted already: a billing run looked far ahead. What it posted is made right now.</summary>
internal static class RatePostings
{
    public static async Task AddAsync(
        WriteScope scope, Findings findings, string jurisdiction, LocalDate from, ReferenceData before, long sequence, Instant at, CancellationToken stop)
    {
        var posted = new HashSet<string>(await scope.PostedFromAsync(jurisdiction, from, stop).ConfigureAwait(false), StringComparer.Ordinal);
        foreach (var job in findings.Postings)
        {
            if (IsIn(job.After, jurisdiction) && Contracts.Books.Postings.PostedThrough(job.After) >= from) { posted.Add(job.After.Contract); }
        }

        foreach (var contract in posted.Order(StringComparer.Ordinal))
        {
            var known = (await scope.FetchAsync(contract, stop).ConfigureAwait(false)).History;
            findings.Postings.Add(new PostingJob(sequence, at, known, known, before, scope.Rates));
        }
    }

    private static bool IsIn(ContractHistory history, string jurisdiction)
    {
        foreach (var fact in history.Facts)
        {
            if ((fact.Event as ContractEvent.Signed)?.Jurisdiction == jurisdiction || (fact.Event as ContractEvent.Moved)?.Jurisdiction == jurisdiction) { return true; }
        }

        return false;
    }
}
