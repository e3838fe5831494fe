using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Store;
using Contracts.Store.Quotes;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Host.Replay;

/// <summary>Something that should hold and does not: what kind, and where exactly.</summary>
public sealed record Fault(string Kind, string Stream, long? Version, string? Field, string Detail);

/// <summary>What `contracts check` went through and what it found.</summary>
public sealed class CheckReport
{
    public SortedDictionary<string, long> Checked { get; } = new(StringComparer.Ordinal);

    public List<Fault> Faults { get; } = [];

    public bool Ok => Faults.Count == 0;

    internal void Count(string what) => Checked[what] = Checked.GetValueOrDefault(what) + 1;
}

/// <summary>
/// The self-check: every history folds, the invariants of docs/money.md hold for each account, recorded time never
/// runs back, and the read models say what the events say.
/// </summary>
public static class StoreCheck
{
    public static async Task<CheckReport> RunAsync(ContractsStore store, CancellationToken stop)
    {
        var report = new CheckReport();
        await RunAsync(store, report, stop).ConfigureAwait(false);
        return report;
    }

    /// <summary>The same into a report that is begun, so that what was found before something broke is kept.</summary>
    public static async Task RunAsync(ContractsStore store, CheckReport report, CancellationToken stop)
    {
        var now = await store.Reader.NowAsync(stop).ConfigureAwait(false);
        var rates = await store.Reader.RatesAsync(now, stop).ConfigureAwait(false);
        var units = new UnitCheck(await store.Units.KeptAsync(now, stop).ConfigureAwait(false), report);
        var lastPlaced = new Dictionary<string, string>(StringComparer.Ordinal);
        await foreach (var history in store.Reader.HistoriesAsync(now, stop).ConfigureAwait(false))
        {
            CheckHistory(history, rates, report, lastPlaced);
            units.Look(history);
        }

        units.Finish();

        await CheckQuotesAsync(store, now, report, stop).ConfigureAwait(false);
    }

    private static async Task CheckQuotesAsync(ContractsStore store, Instant now, CheckReport report, CancellationToken stop)
    {
        foreach (var recorded in await store.Quotes.ListAsync(now, stop).ConfigureAwait(false))
        {
            report.Count("quotes");
            var (_, isSame) = await store.Quotes.MakeAgainAsync(recorded, stop).ConfigureAwait(false);
            if (isSame) { continue; }
            report.Faults.Add(new Fault(
                "quote-differs", QuoteGiven.StreamOf(recorded.Given.Quote), 1, "digest", "Made again of what was known, it has another digest."));
        }
    }

    private static void CheckHistory(
        ContractHistory history, ReferenceData rates, CheckReport report, Dictionary<string, string> placed)
    {
        report.Count("contracts");
        CheckOrder(history, report);
        try
        {
            var last = history.Facts.Max(fact => fact.Event.On);
            for (var step = 0; step < 2; step++)
            {
                if (AccountFold.At(history, rates, last.PlusMonths(step)) is not { } state) { continue; }
                CheckAccount(state, report);
                if (step > 0 || (state.HasEnded && state.Status != ContractStatus.Lost)) { continue; }
                report.Count("placements");
                if (!placed.TryAdd(state.Serial, history.Contract))
                {
                    report.Faults.Add(new Fault(
                        "two-contracts-one-instrument", history.Contract, null, "serial",
                        $"{state.Serial} is also on {placed[state.Serial]}."));
                }
            }
        }
        catch (Exception damage) when (damage is ImpossibleHistoryException or OverflowException or InvalidOperationException)
        {
            report.Faults.Add(new Fault("history-does-not-fold", history.Contract, null, null, damage.Message));
        }
    }

    private static void CheckOrder(ContractHistory history, CheckReport report)
    {
        for (var index = 0; index < history.Entries.Length; index++)
        {
            report.Count("events");
            if (index == 0) { continue; }
            if (history.Entries[index].At < history.Entries[index - 1].At)
            {
                report.Faults.Add(new Fault(
                    "recorded-time-runs-back", history.Contract, index + 1, "recordedAt", "Recorded before the event it follows."));
            }
        }
    }

    private static void CheckAccount(AccountState state, CheckReport report)
    {
        report.Count("accounts");
        var account = Account.Of(state, default);
        Hold(account.Equity >= Money.Zero && account.Equity <= state.Terms.PurchasePrice, "equity", "Equity is outside 0 and the purchase price.");
        Hold(account.PastDue == Sum(account.OpenItems.Select(item => item.Open)), "pastDue", "Past due is not the sum of its open items.");
        Hold(Received(state) == Placed(state, account), "paid", "Money received is not all applied, waiting, refunded or reversed.");

        void Hold(bool holds, string field, string detail)
        {
            if (!holds) { report.Faults.Add(new Fault("invariant-broken", state.History.Contract, null, field, detail)); }
        }
    }

    private static Money Received(AccountState state) => Sum(state.History.Facts
        .Where(fact => fact.Event.On <= state.On).Select(fact => AmountOf(fact.Event)));

    private static Money Placed(AccountState state, Account account)
    {
        var facts = state.History.Facts.Where(fact => fact.Event.On <= state.On).ToList();
        var undone = facts.Select(fact => (fact.Event as ContractEvent.PaymentReversed)?.Payment).ToHashSet();
        var reversed = Sum(facts.Where(fact => undone.Contains(fact.Key)).Select(fact => AmountOf(fact.Event)));
        var refunded = Sum(facts.Select(fact => fact.Event).OfType<ContractEvent.RefundIssued>().Select(e => e.Amount));
        var toRecover = Sum(account.OpenItems.Where(item => item.Kind == "refund-to-recover").Select(item => item.Open));
        return account.Paid.Total + account.UnappliedCredit - toRecover + refunded + reversed;
    }

    private static Money AmountOf(ContractEvent fact) => fact switch
    {
        ContractEvent.PaymentReceived e => e.Amount,
        ContractEvent.BoughtEarly e => e.Amount,
        _ => Money.Zero,
    };

    private static Money Sum(IEnumerable<Money> amounts) => amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount);
}
