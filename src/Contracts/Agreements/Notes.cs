using System.Collections.Immutable;
using Contracts.History;
using Contracts.Payments;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>
/// The notes a contract's stream carries beside its facts: which installments and fees fell due. They are compared
/// with what the fold says; a difference is recorded with its cause, and never by changing what was written.
/// </summary>
internal static class Notes
{
    /// <summary>A charge as a note writes it.</summary>
    private readonly record struct Noted(LocalDate On, bool IsInstallment, Money Tax, Money Amount, Money Plan);

    /// <summary>What a billing run has to write: everything the fold says that no note says yet, and the reverse.</summary>
    public static IReadOnlyList<Outcome> Missing(ContractHistory history, AccountState state)
    {
        var standing = Standing(history);
        var implied = Implied(state);
        var outcomes = new List<Outcome>();
        foreach (var (id, note) in standing)
        {
            if (note.On <= state.On && (!implied.TryGetValue(id, out var now) || now != note)) { outcomes.Add(Reversed(id, note, null)); }
        }

        foreach (var (id, note) in implied)
        {
            if (!standing.TryGetValue(id, out var old) || old != note) { outcomes.Add(Charged(id, note, null)); }
        }

        if (Ownership(history, state) is { } owned) { outcomes.Add(owned); }
        return outcomes;
    }

    /// <summary>What one more fact changes in the past: fees that appear or go, charges already noted that change.</summary>
    public static IEnumerable<Outcome> Consequences(
        ContractHistory history, AccountState? before, AccountState after, string cause)
    {
        // Most commands move no charge at all, and then there is nothing to look up.
        var isMoved = before is null || !ImplyTheSame(before, after);
        var standing = isMoved ? Standing(history) : [];
        var was = isMoved && before is not null ? Implied(before) : [];
        var now = isMoved ? Implied(after) : [];
        foreach (var id in was.Keys.Union(now.Keys, StringComparer.Ordinal))
        {
            var stays = now.TryGetValue(id, out var note);
            var (stood, isNoted) = (was.TryGetValue(id, out var old), standing.TryGetValue(id, out var written));
            if (stood == stays && old == note) { continue; }
            if (isNoted && (!stays || written != note)) { yield return Reversed(id, written, cause); }

            // An installment nobody noted yet is the billing run's to note; a fee is noted when it appears.
            if (stays && (isNoted ? written != note : !note.IsInstallment)) { yield return Charged(id, note, cause); }
        }

        if (before?.Status != ContractStatus.Owned && Ownership(history, after) is { } owned) { yield return owned; }
    }

    private static Outcome? Ownership(ContractHistory history, AccountState state)
    {
        if (state.OwnedOn is not { } day) { return null; }
        foreach (var entry in history.Entries)
        {
            if (entry.Event is ContractEvent.OwnershipTransferred && entry.Event.On == day) { return null; }
        }

        return new Outcome(new ContractEvent.OwnershipTransferred(state.OwnedBy) { On = day });
    }

    /// <summary>Whether two views have the same charges to note, one after the other. Where it says no they may still be the same in another order.</summary>
    internal static bool ImplyTheSame(AccountState before, AccountState after)
    {
        var (left, right) = (before.Charges, after.Charges);
        for (var (at, there) = (0, 0); ; at++, there++)
        {
            while (at < left.Count && !IsNoted(left[at])) { at++; }
            while (there < right.Count && !IsNoted(right[there])) { there++; }
            if (at == left.Count || there == right.Count) { return at == left.Count && there == right.Count; }
            if (!left[at].IsLike(right[there])) { return false; }
        }
    }

    private static bool IsNoted(Charge charge) => charge.ReversedOn is null
        && charge.Kind is ChargeKind.Installment or ChargeKind.Late or ChargeKind.Unreturned or ChargeKind.Returned or ChargeKind.Loss;

    private static Dictionary<string, Noted> Implied(AccountState state)
    {
        var implied = new Dictionary<string, Noted>(StringComparer.Ordinal);
        foreach (var charge in state.Charges)
        {
            if (charge.ReversedOn is not null) { continue; }
            switch (charge.Kind)
            {
                case ChargeKind.Installment:
                    implied[charge.Id] = new Noted(
                        charge.DueOn, true, charge.Of(ChargePart.Tax), charge.Of(ChargePart.Rent), charge.Of(ChargePart.Plan));
                    break;
                case ChargeKind.Late or ChargeKind.Unreturned or ChargeKind.Returned or ChargeKind.Loss:
                    implied[charge.Id] = new Noted(
                        charge.DueOn, false, charge.Of(ChargePart.Tax), charge.Of(ChargePart.Fee), Money.Zero);
                    break;
                default: break; // Sales, purchases, refunds to recover and delivery taxes follow from the facts that brought them.
            }
        }

        return implied;
    }

    private static Dictionary<string, Noted> Standing(ContractHistory history)
    {
        var standing = new Dictionary<string, Noted>(StringComparer.Ordinal);
        foreach (var entry in history.Entries)
        {
            switch (entry.Event)
            {
                case ContractEvent.InstallmentCharged e:
                    standing[AccountFold.InstallmentId(e.On)] = new Noted(e.On, true, e.Tax, e.Rent, e.Plan);
                    break;
                case ContractEvent.InstallmentReversed e: standing.Remove(AccountFold.InstallmentId(e.On)); break;
                case ContractEvent.FeeCharged e: standing[e.Fee] = new Noted(e.On, false, e.Tax, e.Amount, Money.Zero); break;
                case ContractEvent.FeeReversed e: standing.Remove(e.Fee); break;
                default: break; // Facts are not notes.
            }
        }

        return standing;
    }

    private static Outcome Charged(string id, Noted note, string? cause) => new(
        note.IsInstallment
            ? new ContractEvent.InstallmentCharged(note.Tax, note.Amount, note.Plan) { On = note.On }
            : new ContractEvent.FeeCharged(id, note.Amount, note.Tax) { On = note.On },
        cause);

    private static Outcome Reversed(string id, Noted note, string? cause) => new(
        note.IsInstallment
            ? new ContractEvent.InstallmentReversed(note.Tax, note.Amount, note.Plan) { On = note.On }
            : new ContractEvent.FeeReversed(id, note.Amount, note.Tax) { On = note.On },
        cause);
}
