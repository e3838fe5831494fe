using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Compliance;
using Contracts.Equity;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Payments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Quotes;

/// <summary>
/// Makes a quote by living the contract: a signing on the start date, then on each due date a payment of what is past
/// due. One fold goes on through the days and is read at each, so a quote has no formula of its own and cannot differ
/// from the account that follows it.
/// </summary>
public static class QuoteMaker
{
    /// <summary>A life that nobody lived has one recorded instant for everything.</summary>
    private static readonly Instant Never = Instant.MinValue;

    private static readonly Instrument NoUnit = new("instrument", "none", null, null);

    /// <summary>Why an offer could not be signed, or null: the rules of a signing (M18, M21).</summary>
    public static Refusal? Fault(Offer offer, ReferenceData rates) =>
        ContractDecider.CannotBeOffered(rates, offer.State, offer.Jurisdiction, offer.Terms, offer.WithPlan);

    /// <summary>The quote of an offer that has no <see cref="Fault"/>.</summary>
    /// <param name="offer">What is offered.</param>
    /// <param name="rates">The tax entries known, also those of days to come.</param>
    public static Quote Make(Offer offer, ReferenceData rates)
    {
        var law = offer.LawPack is { } named ? rates.Law.Find(named) : rates.Law.For(offer.State, offer.StartOn);
        offer = offer with { LawPack = law?.Reference };
        var months = ImmutableArray.CreateBuilder<QuotedMonth>();
        var history = Signing(offer);
        var day = offer.StartOn;
        var fold = AccountFold.Lived(history, rates, day, null)
            ?? throw new ImpossibleHistoryException(history.Contract, "has no account on its own start date");
        var account = new AccountState(fold);
        while (true)
        {
            if (account.PastDue.IsPositive)
            {
                history = history.Evolve(Fact(history, new ContractEvent.PaymentReceived(account.PastDue, "quote", null) { On = day }));
                fold.GoOn(history, day);
            }

            months.Add(Position(account));
            if (account.HasEnded) { break; }
            day = account.Schedule.NextDue;
            fold.GoOn(history, day);
        }

        var total = offer.Terms.TotalRent;
        var entry = rates.On(offer.Jurisdiction, offer.StartOn);
        return new Quote(
            offer, Installments(account.Charges), total, total - offer.Terms.CashPrice, months.ToImmutable(), Accessories(account.Charges),
            new QuotedSale(offer.Terms.CashPrice, entry.OnSale(offer.Terms.CashPrice)),
            TermsCheck.Of(law, AgreementFacts.Of(offer.StartOn, offer.Terms, offer.Instrument ?? NoUnit), rates.Law.CounselNote(offer.State)));
    }

    /// <summary>The history of a family that has just signed: what each position of the quote is a view of.</summary>
    private static ContractHistory Signing(Offer offer)
    {
        var signed = new ContractEvent.Signed(
            offer.Household ?? "", offer.Instrument ?? NoUnit, offer.State, offer.Jurisdiction, offer.StartOn,
            offer.Terms, offer.Accessories, offer.WithPlan, LawPack: offer.LawPack) { On = offer.StartOn };
        var unsigned = ContractHistory.Unsigned("quote");
        return unsigned.Evolve(Fact(unsigned, signed));
    }

    private static Recorded Fact(ContractHistory history, ContractEvent fact) =>
        new(fact, history.Entries.Length + 1, Never, "quote", null, null, null);

    private static QuotedMonth Position(AccountState account)
    {
        var price = EarlyPurchase.On(account);
        return new QuotedMonth(
            account.On, account.Paid.Total, account.Equity, price.Price, price.Basis, price.Tax,
            account.HasEnded ? Money.Zero : account.UnappliedCredit + account.DeliveryTaxIfReturned);
    }

    private static ImmutableArray<QuotedInstallment> Installments(IReadOnlyList<Charge> charges)
    {
        var installments = ImmutableArray.CreateBuilder<QuotedInstallment>(charges.Count);
        var delivery = Money.Zero;
        foreach (var charge in charges)
        {
            var tax = charge.Of(ChargePart.Tax);
            switch (charge.Kind)
            {
                // It falls due with the installment that comes next in this list.
                case ChargeKind.DeliveryTax: delivery += tax; break;
                case ChargeKind.Installment:
                    installments.Add(new QuotedInstallment(charge.DueOn, charge.Of(ChargePart.Rent), charge.Of(ChargePart.Plan), delivery + tax));
                    delivery = Money.Zero;
                    break;
                default: break; // Accessories have a figure of their own, and nothing else falls due when all is paid on time.
            }
        }

        return installments.ToImmutable();
    }

    private static QuotedSale Accessories(IReadOnlyList<Charge> charges)
    {
        foreach (var charge in charges)
        {
            if (charge.Kind == ChargeKind.Accessories) { return new QuotedSale(charge.Of(ChargePart.Price), charge.Of(ChargePart.Tax)); }
        }

        return new QuotedSale(Money.Zero, Money.Zero);
    }
}
