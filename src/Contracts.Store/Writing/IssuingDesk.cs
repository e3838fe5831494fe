using Contracts.Agreements;
using Contracts.History;
using Contracts.Papers;
using Contracts.Store.Papers;
using Contracts.Terms;

namespace Contracts.Store.Writing;

/// <summary>
/// Lets a batch issue papers: finds the rates that were known when the paper's knowledge ends, which may be long ago or a
/// few commands before in the same batch.
/// </summary>
internal sealed class IssuingDesk(WriteScope scope, StoreSettings settings)
{
    private readonly List<(long Sequence, ReferenceData Before)> changes = [];

    /// <summary>A command of this batch sets a rate.</summary>
    public void RatesChange(long sequence, ReferenceData before) => changes.Add((sequence, before));

    /// <summary>What makes the paper of a command, or null where the store has no press.</summary>
    public async Task<IssuePaper?> OpenAsync(ContractHistory history, ContractCommand.Issue asked, KnownThrough now, CancellationToken stop)
    {
        if (settings.Press is not { } press) { return null; }
        // A paper on nothing that is there is refused by the decision itself, in its turn.
        var (found, _) = KnownThrough.Of(history, asked, now);
        var knowledge = found ?? now;
        var rates = await RatesThroughAsync(knowledge.ThroughSequence, stop).ConfigureAwait(false);
        var desk = StoredFacts.Desk(press);
        return (known, on, issue) =>
        {
            var (_, refusal) = KnownThrough.Of(known, issue, now);
            return refusal is not null ? (null, refusal) : desk.Issue(known, rates, on, issue, knowledge);
        };
    }

    private async Task<ReferenceData> RatesThroughAsync(long sequence, CancellationToken stop)
    {
        if (sequence < scope.Clock.NextSequence && await scope.RatesThroughAsync(sequence, stop).ConfigureAwait(false) is { } earlier) { return earlier; }
        foreach (var (at, before) in changes)
        {
            if (at > sequence) { return before; }
        }

        return scope.Rates;
    }
}
