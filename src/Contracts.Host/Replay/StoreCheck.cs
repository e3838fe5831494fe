using Contracts.Disclosures;
using Contracts.History;
using Contracts.Replays;
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
        catch (Exception damage) when (damage is not (OperationCanceledException or OutOfMemoryException))
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
        foreach (var broken in Invariants.Of(state, account))
        {
            report.Faults.Add(new Fault("invariant-broken", state.History.Contract, null, broken.Figure, broken.Detail));
        }
    }
}
