using System.Diagnostics;

namespace Contracts.Payments;

/// <summary>The words that figures, papers and files use for kinds and parts of charges.</summary>
public static class ChargeWords
{
    public static string Word(this ChargeKind kind) => kind switch
    {
        ChargeKind.Installment => "installment",
        ChargeKind.Accessories => "accessories",
        ChargeKind.Late => "late",
        ChargeKind.Unreturned => "unreturned",
        ChargeKind.Returned => "returned",
        ChargeKind.Loss => "loss",
        ChargeKind.RefundToRecover => "refund-to-recover",
        ChargeKind.Purchase => "purchase",
        ChargeKind.DeliveryTax => "delivery-tax",
        _ => throw new UnreachableException($"No word for {kind}."),
    };

    public static string Word(this ChargePart part) => part switch
    {
        ChargePart.Tax => "tax",
        ChargePart.Rent => "rent",
        ChargePart.Plan => "plan",
        ChargePart.Price => "price",
        ChargePart.Fee => "fee",
        _ => throw new UnreachableException($"No word for {part}."),
    };
}
