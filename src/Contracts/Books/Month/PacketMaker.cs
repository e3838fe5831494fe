using NodaTime.Text;

namespace Contracts.Books.Month;

/// <summary>
/// What a packet has in it. A month keeps the form it was closed in, so that its packet is made again to the byte; the numbers
/// are stored with the close: add, never change.
/// </summary>
public enum PacketForm
{
    First = 1,

    /// <summary>Also taxable receipts, tax by jurisdiction and authority with their check, the month before and the year before.</summary>
    WithTaxAndComparison = 2,
}

/// <summary>Makes the packet of a month. The same figures always make the same packet, to the byte.</summary>
public static class PacketMaker
{
    /// <summary>The form in which months are closed now.</summary>
    public const PacketForm Form = PacketForm.WithTaxAndComparison;

    public static Packet.Packet Make(MonthEndFigures month, Chart chart)
    {
        var evidence = new Evidence(chart, month.Totals.Month, month.Known);
        return new Packet.Packet(
            YearMonthPattern.Iso.Format(month.Totals.Month), month.Known, month.ThroughSequence, month.Title, MonthChecks.Of(month),
            [
                StatementReports.TrialBalance(month, chart, evidence),
                StatementReports.Income(month, chart, evidence),
                StatementReports.BalanceSheet(month, chart, evidence),
                AccountReports.Ageing(month, chart, evidence),
                AccountReports.Debtors(month, evidence),
                RollForwardReports.Deferred(month, chart, evidence),
                RollForwardReports.Credits(month, chart, evidence),
                RollForwardReports.Fleet(month, chart, evidence),
                DepreciationReports.Book(month),
                DepreciationReports.Tax(month),
                RollForwardReports.SalesTax(month, chart, evidence),
                .. Taxes(month, evidence),
                AccountReports.Cash(month, chart, evidence),
                AccountReports.References(month),
                RollForwardReports.Equity(month, chart, evidence),
                AccountReports.PriorPeriods(month, chart, evidence),
                AccountReports.Counts(month),
            ]);
    }

    private static IEnumerable<Packet.Report> Taxes(MonthEndFigures month, Evidence evidence) => month.Form >= PacketForm.WithTaxAndComparison
        ? [TaxReports.Receipts(month), TaxReports.Authorities(month, evidence)]
        : [];
}
