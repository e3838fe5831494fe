using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Law;
using Contracts.Payments;
using NodaTime;

namespace Contracts.Papers;

/// <summary>The papers on which an act says what they have to tell: one that cannot tell it is not issued.</summary>
public static partial class PaperMaker
{
    /// <summary>What every agreement tells, in this order; a law pack may ask for more or less.</summary>
    public static readonly ImmutableArray<DisclosureItem> OnEveryAgreement =
        [.. Enum.GetValues<DisclosureItem>().Where(item => item is not (DisclosureItem.PaidNow or DisclosureItem.RemainingTotal
            or DisclosureItem.DueThisPeriod or DisclosureItem.AprImputed or DisclosureItem.ItemHistory or DisclosureItem.Location))];

    private static (Paper? Paper, Refusal? Refusal) Agreement(Making made, Paper view)
    {
        var signing = SigningData.Of(made.State, made.Asked.Known, made.Rates, made.Asked.Form);
        var (lines, refusal) = Sheet(made, signing, "agreement");
        var signed = signing.Signed;
        return refusal is not null
            ? (null, refusal)
            : (view with
            {
                Agreement = new AgreementPart(
                    made.Fact!.Key, signed.On, signed.StartOn, TermsSheet.Of(signed.Terms), signed.WithPlan, signed.Accessories, signing.Payments, lines,
                    signing.Form < 3 ? null : signed.StartsAtDelivery),
            }, null);
    }

    private static (Paper? Paper, Refusal? Refusal) Exchange(Making made, Paper view)
    {
        var exchanged = (ContractEvent.InstrumentExchanged)made.Fact!.Event;
        // The day as it was before the exchange: later facts of the same day are not known yet at this moment.
        var before = AccountFold.At(made.History.ThroughSequence(made.Fact.Sequence - 1), made.Rates, exchanged.On)!;
        ImmutableArray<DisclosureLine>? sheet = null;
        if (exchanged.NewAgreement is not null)
        {
            var (lines, refusal) = Sheet(made, SigningData.Of(made.State, exchanged, made.Asked.Known, made.Rates), "confirmation of the exchange");
            if (refusal is not null) { return (null, refusal); }
            sheet = lines;
        }

        return (view with
        {
            Exchange = new ExchangePart(
                made.Fact.Key, exchanged.On, new PaperInstrument(before.Kind, before.Serial, null),
                before.Equity, Account.Of(before, made.Asked.Known).RemainingToOwn,
                TermsSheet.Of(exchanged.Terms), exchanged.Accessories, PaymentRun.Of(made.State.Schedule), exchanged.NewAgreement, sheet),
        }, null);
    }

    /// <summary>The disclosure sheet: what every agreement tells, and what else the contract's act asks.</summary>
    private static (ImmutableArray<DisclosureLine> Lines, Refusal? Refusal) Sheet(Making made, SigningData data, string paper)
    {
        var asked = AskedItems.OfAgreement(data.Law, data.Signed.On, data.Signed.Instrument.SchoolUse ?? false).ToList();
        // Text that the act asks for and nobody recorded: an agreement without it must not be handed out.
        var missing = asked.Find(one => DisclosureSheet.Line(one.Item, data) is null);
        return missing is not null && !made.Asked.Again
            ? ([], NotTold(missing, paper))
            : (DisclosureSheet.Lines(OnEveryAgreement.Concat(asked.Select(one => one.Item)).Distinct(), data), null);
    }

    private static (Paper? Paper, Refusal? Refusal) Receipt(Making made, Paper view)
    {
        var (amount, method, reference) = made.Fact!.Event switch
        {
            ContractEvent.PaymentReceived e => (e.Amount, e.Method, e.Reference),
            ContractEvent.BoughtEarly e => (e.Amount, e.Method, e.Reference),
            _ => throw new System.Diagnostics.UnreachableException("A receipt is for a payment."),
        };
        var (states, refusal) = Stated(made, amount);
        if (refusal is not null) { return (null, refusal); }
        var (paid, waiting) = made.State.PaidBy(made.Fact.Key);
        return (view with
        {
            Receipt = new ReceiptPart(
                made.Fact.Key, made.Fact.Event.On, amount, method, reference,
                [.. paid.Select(line => new PaidLine(
                    line.Item.Charge.Id, line.Item.Charge.Kind.Word(), line.Item.Part.Word(), line.Item.Charge.DueOn, line.Amount))],
                waiting, states),
        }, null);
    }

    /// <summary>What a receipt states beside what it paid: both totals always, and whatever else the act asks; with the section where one does.</summary>
    private static (ImmutableArray<StatedFigure> States, Refusal? Refusal) Stated(Making made, Money amount)
    {
        var asked = AskedItems.OfReceipt(made.State.Law, made.History.Signing.On).ToList();
        var states = ImmutableArray.CreateBuilder<StatedFigure>();
        DisclosureItem[] always = [DisclosureItem.RemainingTotal, DisclosureItem.EpoPriceNow];
        foreach (var item in asked.Select(one => one.Item).Concat(always).Distinct())
        {
            var citation = asked.Find(one => one.Item == item)?.Citation;
            if (OnReceipt(item, made, amount) is { } figure) { states.Add(new StatedFigure(item.Code(), item.Heading(), figure, citation)); }
            else if (!made.Asked.Again) { return ([], NotTold(asked.Find(one => one.Item == item)!, "receipt")); }
        }

        return (states.ToImmutable(), null);
    }

    private static Money? OnReceipt(DisclosureItem item, Making made, Money amount) => item switch
    {
        DisclosureItem.PaidNow => amount,
        DisclosureItem.RemainingTotal => made.Account.RemainingBySchedule,
        DisclosureItem.EpoPriceNow => made.Account.EarlyPurchase.Price,
        DisclosureItem.DueThisPeriod => DueThisPeriod(made),
        DisclosureItem.CashPrice => made.State.Terms.CashPrice,
        DisclosureItem.TotalOfPayments => made.Account.TotalCost,
        DisclosureItem.CostOfRental => made.Account.CostOfRental,
        _ => null,
    };

    /// <summary>The installment of the running period as it fell due; before the first one, the one that comes.</summary>
    private static Money DueThisPeriod(Making made)
    {
        Charge? running = null;
        foreach (var charge in made.State.Charges)
        {
            if (charge.Kind == ChargeKind.Installment && charge.ReversedOn is null && (running is null || charge.DueOn >= running.DueOn)) { running = charge; }
        }

        return running is null ? made.Account.NextDue?.Amount ?? Contracts.Money.Zero : Sum(running.Items.Select(item => item.Charged));
    }

    private static Refusal NotTold(AskedItem missing, string paper) => new(
        RefusalCode.PaperNotMade, $"The act asks the {paper} to say '{missing.Item.Heading()}', which was not recorded, so none was issued.", "kind", null, missing.Citation);
}
