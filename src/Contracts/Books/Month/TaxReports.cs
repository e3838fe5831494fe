using System.Diagnostics;
using Contracts.Books.Packet;
using static Contracts.Books.Month.Table;

namespace Contracts.Books.Month;

/// <summary>
/// What whoever prepares the sales-tax returns asks for: what was taxed and what was not, by jurisdiction and kind, and the tax
/// by jurisdiction, authority and rate. Material for a return, not a return.
/// </summary>
internal static class TaxReports
{
    private const string Caution =
        "Material for a return, not a return: what is taxable, where and when it is filed, local law and a licensed preparer decide.";

    /// <summary>Receipts by jurisdiction and kind. No sum holds the cost of units, which is no receipt.</summary>
    public static Report Receipts(MonthEndFigures month)
    {
        var table = new Table(
            "taxable-receipts", "Taxed receipts by jurisdiction",
            "What was charged, whether collected or not, by booking day. Rents of a term that are taxed at delivery count as taxed when it begins "
            + "and again as not taxed when each falls due. Cost of units is no receipt and is in no sum. " + Caution,
            Words("jurisdiction", "jurisdiction"), Words("receipts", "receipts"), Amount("taxed", "taxed"), Amount("takenBack", "taken back"),
            Amount("netTaxed", "taxed, net"), Amount("untaxed", "not taxed, net"), Amount("late", "taxed, of closed months"));
        var all = default(ReceiptSum);
        foreach (var place in month.Portfolio.Taxes.Receipts.GroupBy(line => line.Jurisdiction))
        {
            var sum = default(ReceiptSum);
            foreach (var (_, kind, figures) in place.Where(line => line.Kind != ReceiptKind.Cost))
            {
                table.Line(null, [Cell.Of(place.Key), Cell.Of(Word(kind)), .. Cells(figures)]);
                sum += figures;
            }

            table.Subtotal([Cell.Of(place.Key), Cell.Of("receipts"), .. Cells(sum)]);
            foreach (var cost in place.Where(line => line.Kind == ReceiptKind.Cost))
            {
                table.Line(null, [Cell.Of(place.Key), Cell.Of(Word(cost.Kind)), .. Cells(cost.Sum)]);
            }

            all += sum;
        }

        return table.Total([Cell.Of("total"), Cell.Nothing, .. Cells(all)]).Done();
    }

    /// <summary>Tax by jurisdiction, authority and rate. What was taxed has no sum: every authority of a place taxes the same receipts.</summary>
    public static Report Authorities(MonthEndFigures month, Evidence evidence)
    {
        var table = new Table(
            "tax-by-authority", "Sales tax charged by authority",
            "Each tax was rounded when it was charged and split by authority, so a rate times a sum of this table is near its tax and need not be it. "
            + "The net tax is what sales tax payable moved by. " + Caution,
            Words("jurisdiction", "jurisdiction"), Words("authority", "authority"), Words("rate", "rate"), Amount("base", "taxed, net"),
            Amount("costBase", "cost of units"), Amount("charged", "tax charged"), Amount("takenBack", "taken back"), Amount("onCost", "on cost"),
            Amount("net", "net tax"), Amount("late", "of closed months"));
        var all = default(AuthoritySum);
        foreach (var (jurisdiction, authority, rate, sum) in month.Portfolio.Taxes.Authorities)
        {
            table.Line(
                evidence.Of(BookAccount.SalesTaxPayable, authority),
                [Cell.Of(jurisdiction), Cell.Of(authority), Cell.Of($"{rate}"), Cell.Of(sum.Base), Cell.Of(sum.CostBase), .. Taxes(sum)]);
            all += sum;
        }

        return table.Total([Cell.Of("total"), Cell.Nothing, Cell.Nothing, Cell.Nothing, Cell.Nothing, .. Taxes(all)]).Done();
    }

    private static string Word(ReceiptKind kind) => kind switch
    {
        ReceiptKind.Rent => "rent",
        ReceiptKind.RentCovered => "rent taxed at delivery before",
        ReceiptKind.RentsAtDelivery => "rents of a term, taxed at delivery",
        ReceiptKind.Plan => "protection plan",
        ReceiptKind.Fees => "fees",
        ReceiptKind.Losses => "loss charges",
        ReceiptKind.Accessories => "accessories",
        ReceiptKind.Price => "purchase price",
        ReceiptKind.PriceCovered => "purchase price, its rents taxed at delivery",
        ReceiptKind.Cost => "cost of units, taxed to the shop",
        _ => throw new UnreachableException($"No word for {kind}."),
    };

    private static IEnumerable<Cell> Cells(ReceiptSum sum) =>
        [Cell.Of(sum.Taxed), Cell.Of(sum.TakenBack), Cell.Of(sum.NetTaxed), Cell.Of(sum.Untaxed), Cell.Of(sum.Late)];

    private static IEnumerable<Cell> Taxes(AuthoritySum sum) =>
        [Cell.Of(sum.Charged), Cell.Of(sum.TakenBack), Cell.Of(sum.OnCost), Cell.Of(sum.Net), Cell.Of(sum.Late)];
}
