using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Households;
using Contracts.Store.Vault;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Writing;

/// <summary>Decides the commands on households inside a batch.</summary>
internal sealed class HouseholdRecords(WriteScope scope)
{
    private const string Signed = "select e.stream_id from contracts.mt_events e where e.type = 'signed' and e.data->>'household' = $1 order by 1";

    private readonly Dictionary<string, (bool IsDescribed, bool IsErased)> known = new(StringComparer.Ordinal);

    public async Task<Refusal?> DescribeAsync(Command.DescribeHousehold told, Instant at, Findings findings, CancellationToken stop)
    {
        var (isDescribed, isErased) = await KnownAsync(told.Household, stop).ConfigureAwait(false);
        if (HouseholdDesk.Fault(told, new HouseholdStanding(isDescribed, isErased, [])) is { } refusal) { return refusal; }
        // The vault comes before the history: a command that reaches this point with its facts still in it has gone past it.
        if (!told.Facts.IsEmpty || told.Digests.IsEmpty) { throw new StoreException("The facts of a household were not sealed."); }
        findings.Add(HouseholdStreams.Of(told.Household), null, new HouseholdDescribed(told.Household, told.Digests), at, told.Origin, null);
        known[told.Household] = (true, false);
        return null;
    }

    public async Task<Refusal?> EraseAsync(Command.EraseHousehold erase, Instant at, LocalDate today, Findings findings, CancellationToken stop)
    {
        var (isDescribed, isErased) = await KnownAsync(erase.Household, stop).ConfigureAwait(false);
        var contracts = isDescribed && !isErased ? await ContractsAsync(erase.Household, today, stop).ConfigureAwait(false) : [];
        if (HouseholdDesk.Fault(erase, new HouseholdStanding(isDescribed, isErased, contracts), today) is { } refusal) { return refusal; }
        findings.Add(HouseholdStreams.Of(erase.Household), null, new HouseholdErased(erase.Household), at, erase.Origin, null);
        known[erase.Household] = (true, true);
        return null;
    }

    /// <summary>
    /// Deals a family's payment out over its contracts as they stand on its day, and records it beside the shares: all of them happen or none.
    /// </summary>
    /// <param name="pay">The payment.</param>
    /// <param name="at">The moment it is recorded.</param>
    /// <param name="findings">Where it is gathered.</param>
    /// <param name="apply">Applies the shares, all or none.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<Refusal?> PayAsync(
        Command.PayHousehold pay, Instant at, Findings findings, Func<ImmutableArray<Command.OnContract>, Task<Refusal?>> apply, CancellationToken stop)
    {
        var contracts = new List<AccountState>();
        foreach (var id in await SignedAsync(pay.Household, stop).ConfigureAwait(false))
        {
            var known = await scope.FetchAsync(id, stop).ConfigureAwait(false);
            if (AccountFold.At(known.History, scope.Rates, pay.On) is { } state) { contracts.Add(state); }
        }

        var (shares, refusal) = HouseholdPayment.Split(pay.Household, pay.Amount, pay.Shares, contracts);
        refusal ??= await apply(HouseholdPayment.Payments(pay, shares)).ConfigureAwait(false);
        if (refusal is not null) { return refusal; }
        findings.Add(
            HouseholdStreams.Of(pay.Household), null, new HouseholdPaid(pay.Household, pay.On, pay.Amount, pay.Method, pay.Reference, shares), at, pay.Origin, null);
        return null;
    }

    private async Task<SortedSet<string>> SignedAsync(string household, CancellationToken stop)
    {
        var ids = new SortedSet<string>(await scope.TextsAsync(Signed, household, stop).ConfigureAwait(false), StringComparer.Ordinal);
        ids.UnionWith(scope.SignedFor(household));
        return ids;
    }

    private async Task<(bool IsDescribed, bool IsErased)> KnownAsync(string household, CancellationToken stop)
    {
        if (known.TryGetValue(household, out var found)) { return found; }
        foreach (var type in await scope.TextsAsync(
            "select type from contracts.mt_events where stream_id = $1 and type <> 'household_paid'", HouseholdStreams.Of(household), stop).ConfigureAwait(false))
        {
            found = type == "household_erased" ? (true, true) : (true, found.IsErased);
        }

        return known[household] = found;
    }

    private async Task<List<KeptContract>> ContractsAsync(string household, LocalDate today, CancellationToken stop)
    {
        var contracts = new List<KeptContract>();
        foreach (var id in await SignedAsync(household, stop).ConfigureAwait(false))
        {
            var history = (await scope.FetchAsync(id, stop).ConfigureAwait(false)).History;
            var last = history.Facts.Max(fact => fact.Event.On);
            var state = AccountFold.At(history, scope.Rates, LocalDate.Max(today, last));
            contracts.Add(new KeptContract(
                id, state is not { HasEnded: true }, state?.Status == ContractStatus.OnHold,
                state is not null && (state.PastDue != Money.Zero || state.UnappliedCredit != Money.Zero), last, state?.Law));
        }

        return contracts;
    }
}
