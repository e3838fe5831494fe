using System.Diagnostics;
using Contracts.Payments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Books;

/// <summary>What a return of sales tax asks receipts by, in the order in which it is read.</summary>
public enum ReceiptKind
{
    Rent,

    /// <summary>Rent that a delivery tax covers (M80).</summary>
    RentCovered,

    /// <summary>All rents of a term, where the tax on them is taken when it begins, or what of them is kept (M80, M81).</summary>
    RentsAtDelivery,
    Plan,

    /// <summary>Late, returned-payment and unreturned-unit fees (M31).</summary>
    Fees,

    /// <summary>Charges for a loss, which bear no tax (M31).</summary>
    Losses,
    Accessories,

    /// <summary>The price of an early purchase (M82).</summary>
    Price,

    /// <summary>The price of an early purchase whose rents a delivery tax covers (M82).</summary>
    PriceCovered,

    /// <summary>What a unit cost the shop: no receipt, but what the shop's own tax is taken on.</summary>
    Cost,
}

/// <summary>A receipt of one kind: what of it bore tax, and what did not. Amounts that are taken back are negative.</summary>
public readonly record struct Receipt(ReceiptKind Kind, Money Taxed, Money Untaxed);

/// <summary>What one authority has of a tax.</summary>
/// <param name="Authority">Its name, or that of the jurisdiction where the entry names none.</param>
/// <param name="Rate">Its own rate.</param>
/// <param name="Base">What the tax was taken on: the same for each authority of an entry.</param>
/// <param name="Tax">Its share, split from the whole tax without a cent over (M79).</param>
public readonly record struct TaxShare(string Authority, Rate Rate, Money Base, Money Tax);

/// <summary>
/// A charge, or the cost of a unit, as a return of sales tax sees it: charged or taken back on a day, under the entry its
/// tax was taken under. Nothing is rounded here: a tax was rounded when it was charged, once on each taxed part (M2, M30).
/// </summary>
/// <param name="On">The effective day.</param>
/// <param name="Movement">Charged, ChargeReversed or TaxedOnCost: the reason its tax has in the postings.</param>
/// <param name="Jurisdiction">The place.</param>
/// <param name="Entry">The entry of the place that made the tax.</param>
/// <param name="Charge">The charge, or null for the cost of a unit.</param>
/// <param name="Cost">The cost of the unit; zero for a charge.</param>
/// <param name="Tax">The tax, by all authorities.</param>
/// <param name="Sign">1, or -1 for what is taken out of the figures.</param>
public sealed record TaxMove(
    LocalDate On, Movement Movement, string Jurisdiction, TaxEntry Entry, Charge? Charge, Money Cost, Money Tax, int Sign)
{
    /// <summary>The same taken out again: what an earlier close knew of it.</summary>
    public TaxMove Undone() => this with { Sign = -Sign };

    /// <summary>A charge that falls due, or is taken back.</summary>
    public static TaxMove Of(LocalDate on, Movement movement, ReferenceData rates, Charge charge) => new(
        on, movement, charge.Jurisdiction, rates.On(charge.Jurisdiction, charge.TaxedOn), charge, Money.Zero, charge.Of(ChargePart.Tax),
        movement == Movement.ChargeReversed ? -1 : 1);

    /// <summary>What was received, by kind, whether the money has come or not; of an installment its rent and its plan.</summary>
    public IEnumerable<Receipt> Receipts()
    {
        if (Charge is not { } charge)
        {
            yield return new Receipt(ReceiptKind.Cost, Cost.Times(Sign), Money.Zero);
            yield break;
        }

        var taxed = charge.Base;
        switch (charge.Kind)
        {
            case ChargeKind.Installment:
                yield return Part(taxed.IsCovered ? ReceiptKind.RentCovered : ReceiptKind.Rent, charge.Of(ChargePart.Rent), taxed.Rents);
                yield return Part(ReceiptKind.Plan, charge.Of(ChargePart.Plan), taxed.Plan);
                break;
            case ChargeKind.DeliveryTax: yield return Part(ReceiptKind.RentsAtDelivery, taxed.Rents, taxed.Rents); break;
            case ChargeKind.Late or ChargeKind.Returned or ChargeKind.Unreturned: yield return Part(ReceiptKind.Fees, charge.Of(ChargePart.Fee), taxed.Other); break;
            case ChargeKind.Loss: yield return Part(ReceiptKind.Losses, charge.Of(ChargePart.Fee), taxed.Other); break;
            case ChargeKind.Accessories: yield return Part(ReceiptKind.Accessories, charge.Of(ChargePart.Price), taxed.Other); break;
            case ChargeKind.Purchase:
                yield return Part(taxed.IsCovered ? ReceiptKind.PriceCovered : ReceiptKind.Price, charge.Of(ChargePart.Price), taxed.Other);
                break;
            case ChargeKind.RefundToRecover: break; // Money owed back, for nothing that was sold or rented.
            default: throw new UnreachableException($"No receipt for {charge.Kind}.");
        }
    }

    /// <summary>The tax by authority; none where nothing bore tax.</summary>
    public IEnumerable<TaxShare> Shares()
    {
        var measure = Charge?.Base.Total ?? Cost;
        if (measure == Money.Zero && Tax == Money.Zero) { yield break; }
        var split = Entry.Split(Jurisdiction, Tax);
        for (var index = 0; index < split.Length; index++)
        {
            var rate = split.Length == 1 ? Entry.Rate : Entry.Parts[index].Rate;
            yield return new TaxShare(split[index].Authority, rate, measure.Times(Sign), split[index].Amount.Times(Sign));
        }
    }

    private Receipt Part(ReceiptKind kind, Money amount, Money taxed) => new(kind, taxed.Times(Sign), (amount - taxed).Times(Sign));
}
