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

    /// <summary>What every agreement tells, in this order; a law pack may ask for more or less.</summary>
    public static readonly System.Collections.Immutable.ImmutableArray<DisclosureItem> OnEveryAgreement =
        [.. Enum.GetValues<DisclosureItem>().Where(item => item is not (DisclosureItem.PaidNow or DisclosureItem.RemainingTotal
            or DisclosureItem.DueThisPeriod or DisclosureItem.AprImputed or DisclosureItem.ItemHistory or DisclosureItem.Location))];

    private static (Paper? Paper, Refusal? Refusal) Agreement(Making made, Paper view)
    {
        var signing = SigningData.Of(made.State, made.Asked.Known, made.Rates);
        var signed = signing.Signed;
        var asked = AskedByTheAct(signing);
        foreach (var (item, citation) in asked)
        {
            // Text that the act asks for and nobody recorded: an agreement without it must not be handed out.
            if (DisclosureSheet.Line(item, signing) is null)
            {
                return (null, new Refusal(
                    RefusalCode.PaperNotMade, $"The act asks the agreement to say '{item.Heading()}', which was not recorded, so none was issued.", "kind", null, citation));
            }
        }

        var items = OnEveryAgreement.Concat(asked.Select(one => one.Item)).Distinct();
        return (view with
        {
            Agreement = new AgreementPart(
                made.Fact!.Key, signed.On, signed.StartOn, TermsSheet.Of(signed.Terms), signed.WithPlan, signed.Accessories,
                signing.Payments, DisclosureSheet.Lines(items, signing)),
        }, null);
    }

    /// <summary>The items that the contract's law pack asks of an agreement, each with its section.</summary>
    private static List<(DisclosureItem Item, string Citation)> AskedByTheAct(SigningData signing)
    {
        var asked = new List<(DisclosureItem Item, string Citation)>();
        if (signing.Law is not { } law) { return asked; }
        foreach (var rule in law.Of<LawRule.Disclosure>(signing.Signed.On).Where(rule => rule.Placement.StartsWith("agreement", StringComparison.Ordinal)))
        {
            foreach (var word in rule.Items)
            {
                if (DisclosureItems.OfWord(word) is { } item) { asked.Add((item, rule.Citation)); }
            }
        }

        return asked;
    }

    private static ReceiptPart Receipt(Making made)
    {
        var (amount, method, reference) = made.Fact!.Event switch
        {
            ContractEvent.PaymentReceived e => (e.Amount, e.Method, e.Reference),
            ContractEvent.BoughtEarly e => (e.Amount, e.Method, e.Reference),
            _ => throw new System.Diagnostics.UnreachableException("A receipt is for a payment."),
        };
        var (paid, waiting) = made.State.PaidBy(made.Fact.Key);
        return new ReceiptPart(
            made.Fact.Key, made.Fact.Event.On, amount, method, reference,
            [.. paid.Select(line => new PaidLine(
                line.Item.Charge.Id, line.Item.Charge.Kind.Word(), line.Item.Part.Word(), line.Item.Charge.DueOn, line.Amount))],
            waiting);
    }

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

    private static ExchangePart Exchange(Making made)
    {
        var exchanged = (ContractEvent.InstrumentExchanged)made.Fact!.Event;
        // The day as it was before the exchange: later facts of the same day are not known yet at this moment.
        var before = AccountFold.At(made.History.ThroughSequence(made.Fact.Sequence - 1), made.Rates, exchanged.On)!;
        return new ExchangePart(
            made.Fact.Key, exchanged.On, new PaperInstrument(before.Kind, before.Serial, null),
            before.Equity, Account.Of(before, made.Asked.Known).RemainingToOwn,
            TermsSheet.Of(exchanged.Terms), exchanged.Accessories, PaymentRun.Of(made.State.Schedule), exchanged.NewAgreement);
    }

    private static ReturnPart Return(Making made)
    {
        var returned = (ContractEvent.Returned)made.Fact!.Event;
        return new ReturnPart(
            made.Fact.Key, returned.On, returned.Condition, made.State.Status == ContractStatus.Returned ? Reinstatement.LastDay(made.State, returned.On).Last : null);
    }

    private static (Paper? Paper, Refusal? Refusal) Default(Making made, Paper view)
    {
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
        return (view with
        {
            Default = new DefaultPart(
                made.Account.OpenItems, late.Amount, late.GraceDays, returned, returned is { } day ? Reinstatement.LastDay(made.State, day).Last : null),
        }, null);
    }

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
