using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Equity;
using Contracts.History;
using Contracts.Law;
using Contracts.Payments;
using NodaTime;

namespace Contracts.Papers;

/// <summary>The part of each kind.</summary>
public static partial class PaperMaker
{
    /// <summary>How far an early purchase letter looks for a change of the payoff: past the next due date of any month.</summary>
    private const int DaysLookedAhead = 62;

    private static (Paper? Paper, Refusal? Refusal) Offer(Making made, Paper view)
    {
        if (made.State.HasEnded) { return (null, NotDue($"A contract that is {made.Account.Status} has no price to own.")); }
        var now = made.Account.EarlyPurchase;
        for (var ahead = 1; ahead <= DaysLookedAhead; ahead++)
        {
            var then = EarlyPurchase.On(AccountFold.At(made.History, made.Rates, made.State.On.PlusDays(ahead))!);
            if (then != now) { return (view with { Offer = new OfferPart(made.State.On.PlusDays(ahead - 1), then.Payoff) }, null); }
        }

        return (view with { Offer = new OfferPart(null, null) }, null);
    }

    private static ReturnPart Return(Making made)
    {
        var returned = (ContractEvent.Returned)made.Fact!.Event;
        var (last, section) = WindowAfter(made, made.State.Status == ContractStatus.Returned ? returned.On : null);
        return new ReturnPart(made.Fact.Key, returned.On, returned.Condition, last, section);
    }

    private static (Paper? Paper, Refusal? Refusal) Default(Making made, Paper view)
    {
        if (!made.Asked.Again && HoldGround.InForce(made.State) is { AsksNoPayment: true } ground)
        {
            return (null, new Refusal(
                RefusalCode.PaymentNotToBeAsked, $"The contract is on hold because of {ground.Ground}, so no paper asks for what is past due. {ground.Caution}", "kind", null,
                ground.Citation));
        }

        if (!made.State.PastDue.IsPositive) { return (null, NotDue($"Nothing is past due on {Iso(made.State.On)}.")); }
        LocalDate? returned = null;
        foreach (var fact in made.History.Facts)
        {
            if (made.State.Status == ContractStatus.Returned && fact.Event is ContractEvent.Returned && fact.Event.On <= made.State.On
                && !made.State.IsOvertaken(fact.Sequence))
            {
                returned = fact.Event.On;
            }
        }

        var late = made.State.Terms.LateFee;
        var (last, section) = WindowAfter(made, returned);
        return (view with
        {
            Default = new DefaultPart(
                made.Account.OpenItems, late.Amount, late.GraceDays, returned, last, section, DisclosureSheet.Window(made.State.Law, made.History.Signing.On)),
        }, null);
    }

    private static (LocalDate? Last, string? Section) WindowAfter(Making made, LocalDate? returned) =>
        returned is { } day ? Reinstatement.LastDay(made.State, day) : (null, null);

    private static (Paper? Paper, Refusal? Refusal) Sale(Making made, Paper view) =>
        made.State is { Status: ContractStatus.Owned, OwnedOn: { } day }
            ? (view with { Sale = new SalePart(day, made.State.OwnedBy) }, null)
            : (null, NotDue($"The family does not own the instrument on {Iso(made.State.On)}."));

    private static (Paper? Paper, Refusal? Refusal) Final(Making made, Paper view) =>
        made.Account is { NextDue: { } next, Installments.Remaining: 1 }
            ? (view with
            {
                Final = new FinalPart(
                    next.On, next.Amount, Contracts.Money.Max(next.Amount + made.Account.PastDue - made.Account.UnappliedCredit, Contracts.Money.Zero)),
            }, null)
            : (null, NotDue($"{made.Account.Installments.Remaining} payments are still to fall due after {Iso(made.State.On)}; the notice is for the last."));
}
