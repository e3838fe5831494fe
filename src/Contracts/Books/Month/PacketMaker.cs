using NodaTime.Text;

namespace Contracts.Books.Month;

/// <summary>Makes the packet of a month. The same figures always make the same packet, to the byte.</summary>
public static class PacketMaker
{
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
                AccountReports.Cash(month, chart, evidence),
                AccountReports.References(month),
                RollForwardReports.Equity(month, chart, evidence),
                AccountReports.PriorPeriods(month, chart, evidence),
                AccountReports.Counts(month),
            ]);
    }
}
