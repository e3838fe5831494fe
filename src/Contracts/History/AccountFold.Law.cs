using Contracts.Law;
using NodaTime;

namespace Contracts.History;

/// <summary>What the law pack of a contract changes in its account.</summary>
public sealed partial class AccountFold
{
    private LawPack? law;

    /// <summary>The rent paid at which title passes by itself, or null where the pack has no such rule.</summary>
    private Money? ownedAt;

    private const string ShareOfRentPaid = "share of rent paid";

    private LocalDate SignedOn => history.FactsSeen[0].Event.On;

    /// <summary>The pack an event names; a contract from before packs were recorded is under the rules the program then had.</summary>
    private LawPack? PackOf(string home, string? reference)
    {
        if (rates.Law.Instead(home) is { } asked) { return asked; }
        if (reference is null) { return LawBook.BeforePacks(home); }
        return rates.Law.Find(reference) ?? throw new ImpossibleHistoryException(history.Contract, $"is under the law pack {reference}, which is not known");
    }

    /// <summary>Puts the account under a pack: from now on money pays in its order and title passes by its rule.</summary>
    private void GoUnder(LawPack? pack)
    {
        law = pack;
        allocation.NewestFirst = false;
        foreach (var rule in law?.Of<LawRule.AllocationOrder>(SignedOn) ?? []) { allocation.NewestFirst = rule.NewestFirst; }
        LookForTrigger();
    }

    /// <summary>"Half of all payments reaches the cash price": the rent at which that is so, up to the cent that gets there.</summary>
    private void LookForTrigger()
    {
        ownedAt = null;
        if (law is null || terms.Count == 0) { return; }
        foreach (var rule in law.Of<LawRule.OwnershipTrigger>(SignedOn))
        {
            if (rule.Share == Fraction.Zero) { continue; }
            var rent = Fraction.Of(terms[^1].CashPrice) * new Fraction(rule.Share.Below, rule.Share.Above);
            var cents = rent.RoundedDown();
            ownedAt = Fraction.Of(cents) == rent ? cents : cents + new Money(1);
        }
    }

    private bool TriggerIsReached => ownedAt is { } rent && allocation.Paid.RentUnder(terms.Count - 1) + CarriedEquity >= rent;

    /// <summary>The late fee of the terms, or what the act allows on this payment when that is less.</summary>
    private Money LateFeeOn(Payments.Charge installment)
    {
        var asked = terms[installment.TermsIndex].LateFee.Amount;
        return asked.IsPositive && law is not null && LateFees.Cap(law, SignedOn, installment.Of(Payments.ChargePart.Rent)) is { } cap
            ? Money.Min(asked, cap.Most)
            : asked;
    }
}
