using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Payments;

namespace Contracts.Host.Reconstruct;

/// <summary>By what an account can be asked for among all accounts, as pairs of a name and a value: a small closed set of names.</summary>
internal static class AccountMarks
{
    public const string Status = "status";
    public const string Basis = "basis";
    public const string State = "state";
    public const string Jurisdiction = "jurisdiction";
    public const string Law = "law";
    public const string Met = "met";
    public const string Later = "later";

    /// <summary>What a contract without a law pack has for one.</summary>
    public const string NoLaw = "none";

    /// <summary>A fee for paying late stands in the account.</summary>
    public const string LateFee = "late-fee";

    /// <summary>A fee for paying late was charged and is taken back, by a waiver or by what was learned later.</summary>
    public const string LateFeeReversed = "late-fee-reversed";

    /// <summary>What was recorded after the moment of the view changes a figure of it.</summary>
    public const string Moved = "moved";

    /// <summary>Nothing recorded after the moment of the view changes a figure of it.</summary>
    public const string Same = "same";

    /// <summary>Every name, in the order in which they are shown.</summary>
    public static IReadOnlyList<string> Names { get; } = [Status, Basis, State, Jurisdiction, Law, Met, Later];

    /// <summary>Every standing.</summary>
    public static IReadOnlyList<string> Statuses { get; } =
        ["signed", "active", "on-hold", "owned", "returned", "stepped-up", "lost", "cancelled", "written-off"];

    /// <summary>What an account may have met: words for late fees, then those of its events.</summary>
    public static IReadOnlyList<string> Meetings { get; } = [LateFee, LateFeeReversed, .. EventKinds.All];

    /// <summary>What a view of an account can be asked for by, <see cref="Later"/> apart.</summary>
    public static IEnumerable<(string Name, string Value)> Of(AccountState state, Account account)
    {
        yield return (Status, account.Status);
        yield return (Basis, account.EarlyPurchase.Basis);
        yield return (State, state.State);
        yield return (Jurisdiction, state.Jurisdiction);
        yield return (Law, state.Law is { Version: > 0 } law ? law.Reference : NoLaw);
        foreach (var met in MeetingsOf(state).Distinct()) { yield return (Met, met); }
    }

    private static IEnumerable<string> MeetingsOf(AccountState state)
    {
        foreach (var charge in state.Charges.Where(charge => charge.Kind == ChargeKind.Late))
        {
            yield return charge.ReversedOn is null ? LateFee : LateFeeReversed;
        }

        foreach (var entry in state.History.Entries.Where(entry => entry.Event.On <= state.On))
        {
            // A fee that was noted and then was none after all leaves no charge behind.
            if (entry.Event is ContractEvent.FeeReversed { Fee: var fee } && fee.StartsWith($"{ChargeKind.Late.Word()}:", StringComparison.Ordinal))
            {
                yield return LateFeeReversed;
            }

            foreach (var kind in EventKinds.Of(entry, state.IsOvertaken(entry.Sequence))) { yield return kind; }
        }
    }
}
