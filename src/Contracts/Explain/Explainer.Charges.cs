using System.Diagnostics;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Law;
using Contracts.Payments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Explain;

/// <summary>What was charged, part by part (M24 to M32, M40 to M43, M80, M81).</summary>
internal sealed partial class Explainer
{
    private ExplainNode Charged(ChargeItem item) => (item.Charge.Kind, item.Part) switch
    {
        (ChargeKind.Purchase, _) => Nodes.Leaf(Name(item), item.Charged, "fixed when the purchase was accepted", MoneyRules.Purchase, state.CauseOf(item.Charge)),
        (_, ChargePart.Tax) => Tax(item),
        (_, ChargePart.Rent) => Rent(item),
        (_, ChargePart.Plan) => Plan(Name(item), item.Charged, trace.Terms[item.Charge.TermsIndex], item.Charge.DueOn),
        (ChargeKind.Accessories, _) => Accessories(item),
        (ChargeKind.Late, _) => LateFee(item),
        (ChargeKind.Returned, _) => Nodes.Leaf(Name(item), item.Charged, "the fee of the terms for a payment that came back", MoneyRules.ReturnedFee, state.CauseOf(item.Charge)),
        (ChargeKind.Unreturned, _) => Nodes.Leaf(Name(item), item.Charged, "told at the swap, for a unit that did not come back", MoneyRules.Swap, state.CauseOf(item.Charge)),
        (ChargeKind.Loss, _) => Nodes.Leaf(Name(item), item.Charged, "fixed when the loss was reported", MoneyRules.Loss, state.CauseOf(item.Charge)),
        (ChargeKind.RefundToRecover, _) => Nodes.Leaf(Name(item), item.Charged, "given back and not there to be given", MoneyRules.ToRecover, state.CauseOf(item.Charge)),
        _ => throw new UnreachableException($"No words for {item.Charge.Kind} {item.Part}."),
    };

    private ExplainNode Rent(ChargeItem item)
    {
        var terms = trace.Terms[item.Charge.TermsIndex];
        var under = Installments(item.Charge.TermsIndex);
        var first = item.Charge.TermsIndex == 0 && under[0] == item.Charge && terms.Terms.Introductory.Months > 0;
        return RentOf(Name(item), item.Charged, terms, first, under.TakeWhile(charge => charge != item.Charge));
    }

    /// <summary>The rent of an installment: the introductory payment or the monthly rent, at most what is left to charge.</summary>
    private ExplainNode RentOf(string figure, Money rent, TermsPicture terms, bool introductory, IEnumerable<Charge> before)
    {
        var (name, usual) = introductory ? ("introductory payment", terms.Terms.Introductory.Payment) : ("monthly rent", terms.Terms.MonthlyRent);
        if (rent == usual) { return Nodes.Leaf(figure, rent, $"the {name} of the terms", MoneyRules.RentOfInstallment, terms.Fact); }
        return Nodes.Of(
            Combination.Lowest, figure, rent, $"the {name}, at most what is left to charge", MoneyRules.RentOfInstallment,
            OfTerms(terms, name, usual), LeftToCharge(terms, before));
    }

    /// <summary>The rent to charge under a set of terms, less the rents charged under it.</summary>
    private ExplainNode LeftToCharge(TermsPicture terms, IEnumerable<Charge> charged)
    {
        var rents = charged.Select(charge => Nodes.Leaf(
            $"installment of {Day(charge.DueOn)}", charge.Of(ChargePart.Rent), "rent charged", MoneyRules.RentOfInstallment, terms.Fact)).ToList();
        return Nodes.Of(
            Combination.Difference, "rent not yet charged", terms.RentToCharge - Total(rents.Select(Value)),
            "all rent of the terms less the rents that fell due", MoneyRules.ScheduleTotals,
            [RentToCharge(terms), .. rents]);
    }

    private bool withinExchange;

    private ExplainNode RentToCharge(TermsPicture terms)
    {
        var share = OfTerms(terms, "credit share", terms.Terms.CreditShare);
        if (terms.Before is null)
        {
            return Nodes.Of(
                Combination.RoundedQuotient, "total rent to own", terms.RentToCharge, "the rent that brings the purchase price", MoneyRules.TotalRent,
                OfTerms(terms, "purchase price", terms.Terms.PurchasePrice), share);
        }

        // The rent left at an exchange may hang on the last rent of the terms before, and that on the exchange before: one is taken apart, what it
        // hangs on further back is told as the exchange fixed it, so that no tree outgrows what common readers of JSON take.
        if (withinExchange)
        {
            return Nodes.Leaf(
                "rent left to charge at the exchange", terms.RentToCharge, "fixed by that exchange; remainingBySchedule of its day takes it apart",
                MoneyRules.Exchange, terms.Fact);
        }

        withinExchange = true;
        var equity = EquityWithPastDue(IndexOf(terms), terms.Before);
        withinExchange = false;
        var left = Nodes.Of(
            Combination.Difference, "left to own at the exchange", terms.Terms.PurchasePrice - Value(equity),
            "the new price less equity with past-due rent paid", MoneyRules.Exchange,
            OfTerms(terms, "new purchase price", terms.Terms.PurchasePrice), equity);
        return Nodes.Of(
            Combination.RoundedQuotient, "rent left to charge at the exchange", terms.RentToCharge, "the rent that brings what is left", MoneyRules.Exchange, left, share);
    }

    private int IndexOf(TermsPicture terms)
    {
        for (var index = 0; index < trace.Terms.Count; index++)
        {
            if (ReferenceEquals(trace.Terms[index], terms)) { return index; }
        }

        throw new UnreachableException("The terms are none of the contract's.");
    }

    private List<Charge> Installments(int terms) =>
        [.. state.Charges.Where(charge => charge.Kind == ChargeKind.Installment && charge.TermsIndex == terms)];

    private ExplainNode Plan(string figure, Money plan, TermsPicture terms, LocalDate day)
    {
        var elected = trace.Effective.LastOrDefault(fact => fact.Event is ContractEvent.PlanElected && fact.Event.On <= day) ?? trace.Terms[0].Fact;
        var offered = terms.Terms.Plan!;
        return plan == offered.Monthly
            ? Nodes.Leaf(figure, plan, "the plan is elected; its monthly price", MoneyRules.PlanPart, elected)
            : Nodes.Of(
                Combination.Product, figure, plan, "the introductory months, each at the monthly price", MoneyRules.PlanPart,
                Nodes.Leaf("plan a month", offered.Monthly, "the plan is elected; its monthly price", MoneyRules.PlanPart, elected),
                Nodes.Leaf("introductory months", terms.Terms.Introductory.Months, "the terms say so", MoneyRules.Frozen, terms.Fact));
    }

    /// <summary>The tax of a charge, on what the fold took it on; each taxed part is rounded by itself.</summary>
    private ExplainNode Tax(ChargeItem item)
    {
        var charge = item.Charge;
        var rate = rates.On(charge.Jurisdiction, charge.TaxedOn).Rate;
        var (rule, on) = charge.Kind switch
        {
            ChargeKind.DeliveryTax when charge.TaxedOn != charge.DueOn => (MoneyRules.KeptTax, "the rents charged since delivery"),
            ChargeKind.DeliveryTax => (MoneyRules.DeliveryTax, "all rents of the term"),
            ChargeKind.Installment => (MoneyRules.TaxOnInstallment, "rent"),
            _ => (MoneyRules.TaxOnFees, "amount"),
        };
        var cause = state.CauseOf(charge);
        var parts = new List<ExplainNode>();
        foreach (var (name, amount) in new[] { (on, charge.Base.Rents), ("plan", charge.Base.Plan), ("amount", charge.Base.Other) })
        {
            if (amount.IsPositive) { parts.Add(TaxOn(name, amount, Nodes.Leaf(name, amount, "charged", rule, cause), rate, charge.Jurisdiction, charge.TaxedOn, rule)); }
        }

        return Nodes.SumOrOne(Name(item), item.Charged, "the tax on each taxed part", rule, parts);
    }

    private static ExplainNode TaxOn(string name, Money amount, ExplainNode node, Rate rate, string jurisdiction, LocalDate day, string rule) => Nodes.Of(
        Combination.RoundedProduct, $"tax on {name}", rate.Of(amount), "the amount times the rate of the day", rule,
        node, Nodes.Leaf("tax rate", rate, $"{jurisdiction} on {Day(day)}", MoneyRules.WhichRate, null));

    private ExplainNode Accessories(ChargeItem item)
    {
        var fact = state.CauseOf(item.Charge);
        var sold = fact.Event switch
        {
            ContractEvent.Signed signed => signed.Accessories,
            ContractEvent.InstrumentExchanged exchange => exchange.Accessories,
            _ => throw new UnreachableException("Accessories come with a signing or an exchange."),
        };
        return Nodes.Of(
            Combination.Sum, Name(item), item.Charged, "what was bought", MoneyRules.Accessories,
            sold.Select(one => Nodes.Leaf(one.Description, one.Price, "its price", MoneyRules.Accessories, fact)));
    }

    private ExplainNode LateFee(ChargeItem item)
    {
        var terms = trace.Terms[InstallmentOf(item.Charge).TermsIndex];
        if (item.Charged == terms.Terms.LateFee.Amount) { return Nodes.Leaf(Name(item), item.Charged, "the late fee of the terms", MoneyRules.LateFee, terms.Fact); }
        var cap = CapOn(item.Charge);
        return Nodes.Of(
            Combination.Lowest, Name(item), item.Charged, "the late fee of the terms, at most what the act allows", MoneyRules.LateFee,
            OfTerms(terms, "late fee", terms.Terms.LateFee.Amount),
            Nodes.Leaf("the most that the act allows", cap?.Most ?? item.Charged, "of this payment, rounded down", cap?.Citation ?? MoneyRules.LateFee, null));
    }

    private Charge InstallmentOf(Charge fee) => state.Charges.First(charge =>
        charge.Kind == ChargeKind.Installment && Charge.IdOf(ChargeKind.Late, charge.DueOn) == fee.Id);

    /// <summary>The cap of the law pack in force when the fee was charged; the contract may have moved since.</summary>
    private (Money Most, string Citation)? CapOn(Charge fee)
    {
        var installment = InstallmentOf(fee);
        var packs = trace.Effective.Where(fact => fact.Event.On <= fee.DueOn).Select(fact => fact.Event switch
        {
            ContractEvent.Signed signed => (signed.State, signed.LawPack),
            ContractEvent.Moved moved => (moved.State, moved.LawPack),
            _ => default,
        }).Where(one => one.State is not null).ToList();
        var (home, reference) = packs[^1];
        var pack = reference is null ? LawBook.BeforePacks(home) : rates.Law.Find(reference);
        return pack is null ? null : LateFees.Cap(pack, state.History.Signing.On, installment.Of(ChargePart.Rent));
    }
}
