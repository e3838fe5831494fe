using Contracts.Agreements;
using Contracts.History;
using Contracts.Replays;
using CsCheck;
using Xunit;

namespace Contracts.Tests.Replays;

/// <summary>The invariants after every event of every life, and the event at which a damaged history breaks one.</summary>
public sealed class WatchTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "150", System.Globalization.CultureInfo.InvariantCulture);

    [Fact]
    public void Every_invariant_holds_after_every_event_of_every_life() => Gen.Int[0, 1_000_000].Sample(
        seed =>
        {
            if (ReplayedLife.Of(seed) is { } life) { Assert.Empty(Invariants.Watch(life.History, life.Reference, life.Today)); }
        },
        iter: Lives);

    [Fact]
    public void A_purchase_price_below_nothing_breaks_the_bounds_of_equity_at_the_signing() => InSomeLives(life =>
    {
        var damaged = Changed(life, entry => entry.Event is ContractEvent.Signed signed
            ? signed with { Terms = signed.Terms with { PurchasePrice = new Money(-100), CreditShare = Rate.Whole } }
            : null);
        var first = Invariants.Watch(damaged, life.Reference, life.Today)[0];
        Assert.Equal(1, first.Number);
        Assert.Equal(damaged.Entries[0], first.Event);
    });

    private static ContractHistory Changed(ReplayedLife life, Func<Recorded, ContractEvent?> change) =>
        ContractHistory.Of("C-1", [.. life.History.Entries.Select(entry => change(entry) is { } other ? entry with { Event = other } : entry)]);

    private static void InSomeLives(Action<ReplayedLife> holds)
    {
        for (var seed = 0; seed < 60; seed++)
        {
            if (ReplayedLife.Of(seed) is { } life) { holds(life); }
        }
    }
}
