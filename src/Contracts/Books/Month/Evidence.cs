using NodaTime;
using NodaTime.Text;

namespace Contracts.Books.Month;

/// <summary>The command that lists the events behind a line of a packet, as known at the close.</summary>
internal sealed class Evidence(Chart chart, YearMonth month, Instant known)
{
    private readonly string then = $"--known {InstantPattern.ExtendedIso.Format(known)}";
    private readonly string inMonth = $"--month {YearMonthPattern.Iso.Format(month)}";

    public string Of(BookAccount account, string authority = "")
    {
        var only = authority.Length == 0 ? "" : $" --authority '{authority.Replace("'", "'\\''", StringComparison.Ordinal)}'";
        return $"contracts postings --account {chart[account].Number}{only} {inMonth} {then}";
    }

    /// <summary>A balance is made of everything booked by the end of the month.</summary>
    public string OfBalance(BookAccount account) =>
        $"contracts postings --account {chart[account].Number} --through {LocalDatePattern.Iso.Format(month.OnDayOfMonth(1).PlusMonths(1).PlusDays(-1))} {then}";

    public string OfContract(string contract) => $"contracts account {contract} --on {LocalDatePattern.Iso.Format(month.OnDayOfMonth(1).PlusMonths(1).PlusDays(-1))} {then}";

    public string OfPriorPeriods() => $"contracts postings --prior-period {inMonth} {then}";
}
