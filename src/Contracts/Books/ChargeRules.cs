using System.Diagnostics;
using Contracts.Payments;

namespace Contracts.Books;

/// <summary>Which accounts a part of a charge moves: what the family owes, and what stands against it.</summary>
internal static class ChargeRules
{
    /// <summary>The receivable of a charge.</summary>
    public static BookAccount Receivable(ChargeKind kind) => kind switch
    {
        ChargeKind.Installment or ChargeKind.DeliveryTax => BookAccount.ReceivableInstallments,
        ChargeKind.Accessories or ChargeKind.Purchase => BookAccount.ReceivableSales,
        ChargeKind.Late or ChargeKind.Returned => BookAccount.ReceivableFees,
        ChargeKind.Unreturned or ChargeKind.Loss => BookAccount.ReceivableLosses,
        ChargeKind.RefundToRecover => BookAccount.RefundsToRecover,
        _ => throw new UnreachableException($"No receivable for {kind}."),
    };

    /// <summary>What is credited when a part of a charge falls due.</summary>
    public static BookAccount Against(ChargeKind kind, ChargePart part) => (kind, part) switch
    {
        (_, ChargePart.Tax) => BookAccount.SalesTaxPayable,
        (ChargeKind.Installment, ChargePart.Rent) => BookAccount.DeferredRent,
        (ChargeKind.Installment, ChargePart.Plan) => BookAccount.DeferredPlan,
        (ChargeKind.Accessories, ChargePart.Price) => BookAccount.AccessorySales,
        (ChargeKind.Purchase, ChargePart.Price) => BookAccount.InstrumentSales,
        (ChargeKind.Late, ChargePart.Fee) => BookAccount.LateFees,
        (ChargeKind.Returned, ChargePart.Fee) => BookAccount.ReturnedPaymentFees,
        (ChargeKind.Unreturned or ChargeKind.Loss, ChargePart.Fee) => BookAccount.LossCharges,
        // The refund had taken more than was waiting: what is owed back restores what stood unapplied.
        (ChargeKind.RefundToRecover, ChargePart.Fee) => BookAccount.UnappliedCredit,
        _ => throw new UnreachableException($"No account for the {part} of {kind}."),
    };

    /// <summary>Where a deferred part goes as its period passes.</summary>
    public static BookAccount Earned(BookAccount deferred) => deferred switch
    {
        BookAccount.DeferredRent => BookAccount.RentalRevenue,
        BookAccount.DeferredPlan => BookAccount.PlanRevenue,
        _ => throw new UnreachableException($"{deferred} is not earned by day."),
    };

    /// <summary>What bears an unpaid part that is written off: rent lowers lease income, tax is claimed back, the rest is bad debt.</summary>
    public static BookAccount Uncollectible(ChargePart part) => part switch
    {
        ChargePart.Rent => BookAccount.UncollectibleRent,
        ChargePart.Tax => BookAccount.SalesTaxOnBadDebts,
        _ => BookAccount.BadDebts,
    };
}
