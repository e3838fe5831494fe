using NodaTime;
using Npgsql;

namespace Contracts.Store.Books;

/// <summary>
/// The sums of the cube from one day through another, as recorded by the end of a day. Months that are whole on both
/// axes come from `book_months`; what is left are the days at the edges: those of the question in months recorded
/// whole, and everything recorded since the last whole month.
/// </summary>
internal static class BookQuestion
{
    private const string Groups = "group by account, authority, shop";

    private static readonly LocalDate Earliest = new(1, 1, 1);
    private static readonly LocalDate Latest = new(9999, 12, 31);

    public static NpgsqlCommand Command(NpgsqlConnection connection, LocalDate from, LocalDate through, LocalDate recorded, BookDay by)
    {
        (from, through, recorded) = (Within(from), Within(through), Within(recorded));
        var day = by == BookDay.Booked ? "booked" : "effective";
        var months = Whole(from, through);
        var recordedMonths = Whole(Earliest, recorded);
        if (months is not { } inside || recordedMonths is not { } told)
        {
            return With(connection, $"""
                select account, authority, shop, sum(cents)::bigint from contracts.book_cells
                where {day}_on between $1 and $2 and recorded_on <= $3 {Groups}
                """, from, through, recorded);
        }

        return With(connection, $"""
            select account, authority, shop, sum(cents)::bigint from (
                select account, authority, shop, sum(cents) as cents from contracts.book_months
                where {day}_month between $4 and $5 and recorded_month <= $6 {Groups}
                union all
                select account, authority, shop, sum(cents) from contracts.book_cells
                where {day}_on >= $1 and {day}_on < $4 and recorded_on <= $8 {Groups}
                union all
                select account, authority, shop, sum(cents) from contracts.book_cells
                where {day}_on > $7 and {day}_on <= $2 and recorded_on <= $8 {Groups}
                union all
                select account, authority, shop, sum(cents) from contracts.book_cells
                where {day}_on between $1 and $2 and recorded_on > $8 and recorded_on <= $3 {Groups}) parts
            {Groups}
            """,
            from, through, recorded, inside.First, inside.Last, told.Last, End(inside.Last), End(told.Last));
    }

    /// <summary>The first and the last month that lie wholly between two days, or null when none does.</summary>
    private static (LocalDate First, LocalDate Last)? Whole(LocalDate from, LocalDate through)
    {
        if (from.Year == Latest.Year) { return null; }
        var first = from.Day == 1 ? from : from.PlusDays(1 - from.Day).PlusMonths(1);
        var month = through.PlusDays(1 - through.Day);
        var last = through == End(month) ? month : month.PlusMonths(-1);
        return first <= last ? (first, last) : null;
    }

    private static LocalDate End(LocalDate month) => month.PlusDays(month.Calendar.GetDaysInMonth(month.Year, month.Month) - 1);

    // The database's dates end before the calendar's do.
    private static LocalDate Within(LocalDate day) => LocalDate.Max(Earliest, LocalDate.Min(day, Latest));

    private static NpgsqlCommand With(NpgsqlConnection connection, string sql, params ReadOnlySpan<LocalDate> days)
    {
        var command = new NpgsqlCommand(sql, connection);
        foreach (var day in days) { command.Parameters.Add(new NpgsqlParameter<LocalDate> { TypedValue = day }); }
        return command;
    }
}
