using Contracts.Agreements;
using Contracts.Books;
using Contracts.Books.Depreciation;
using Contracts.Books.Month;
using Contracts.Books.Packet;
using Contracts.History;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Tests.Support;

/// <summary>
/// Months closed on paper: the postings of a shop's contracts are written down command by command, day by day, and booked on
/// the first open day where their own month is closed. No store, no cube: sums are made from the days alone.
/// </summary>
public sealed class PaperMonths(InMemoryShop shop)
{
    private readonly Dictionary<string, ContractHistory> posted = new(StringComparer.Ordinal);
    private readonly List<(BookAccount Account, Movement Movement, string Authority, LocalDate Booked, Money Amount)> days = [];
    private LocalDate? openFrom;
    private EarlierClose? earlier;

    /// <summary>The figures of the last month closed.</summary>
    public MonthEndFigures? Figures { get; private set; }

    /// <summary>Books what the commands since the last call added. To be called after each of them.</summary>
    public void Post()
    {
        foreach (var contract in shop.Contracts)
        {
            var (before, after) = (posted.GetValueOrDefault(contract, ContractHistory.Unsigned(contract)), shop.History(contract));
            if (before.Entries.Length == after.Entries.Length) { continue; }
            Book(Postings.Added(before, after, shop.RatesAt(Instant.MaxValue)));
            posted[contract] = after;
        }
    }

    /// <summary>Bills a month through its end, posts its depreciation, makes its packet, and opens the next one.</summary>
    public Packet Close(YearMonth month, Instant at)
    {
        var last = Last(month);
        var (key, moment, through) = (YearMonthPattern.Iso.Format(month), InstantPattern.ExtendedIso.Format(at), LocalDatePattern.Iso.Format(last));
        Xunit.Assert.Null(shop.Apply($$"""{"do":"bill","key":"close-{{key}}","at":"{{moment}}","through":"{{through}}"}"""));
        Post();
        var (portfolio, rates) = (new PortfolioMonth(month.OnDayOfMonth(1), last), shop.RatesAt(Instant.MaxValue));
        var sequence = 0L;
        foreach (var contract in shop.Contracts)
        {
            var history = shop.History(contract);
            sequence = Math.Max(sequence, history.Entries[^1].Sequence);
            if (BookedAccount.At(history, rates, last, earlier) is not { } booked) { continue; }
            portfolio.Add(history, booked, ContractDecider.IsBilled(history, booked.State));
        }

        Book(DepreciationRun.Lines(Totals(month), portfolio, BookDepreciationPolicy.Default));
        Figures = new MonthEndFigures(Totals(month), portfolio, [], Money.Zero, at, sequence, "On paper");
        (openFrom, earlier) = (last.PlusDays(1), new EarlierClose(last, sequence));
        return PacketMaker.Make(Figures, Chart.Standard);
    }

    private void Book(IEnumerable<BookLine> lines)
    {
        foreach (var line in lines)
        {
            foreach (var (day, amount) in line.ByDay())
            {
                days.Add((line.Account, line.Movement, line.Authority, openFrom is { } open && open > day ? open : day, amount));
            }
        }
    }

    private MonthTotals Totals(YearMonth month)
    {
        var (first, ago) = (month.OnDayOfMonth(1), month.PlusMonths(-12));
        var before = Sums(LocalDate.MinIsoValue, first.PlusDays(-1));
        return new MonthTotals(month, before, Sums(first, Last(month)), Sums(new LocalDate(month.Year, 1, 1), first.PlusDays(-1)))
        {
            Compared = new Comparison(
                new EarlierMonth(before, Sums(first.PlusMonths(-1), first.PlusDays(-1))),
                new EarlierMonth(Sums(LocalDate.MinIsoValue, Last(ago)), Sums(ago.OnDayOfMonth(1), Last(ago)))),
        };
    }

    private System.Collections.Immutable.ImmutableArray<AccountTotal> Sums(LocalDate from, LocalDate through) =>
    [
        .. days.Where(day => day.Booked >= from && day.Booked <= through)
            .GroupBy(day => (day.Account, day.Movement, day.Authority))
            .Select(group => new AccountTotal(
                group.Key.Account, group.Key.Movement, group.Key.Authority, group.Aggregate(Money.Zero, (sum, day) => sum + day.Amount)))
            .Where(total => total.Amount != Money.Zero),
    ];

    private static LocalDate Last(YearMonth month) => month.OnDayOfMonth(1).PlusMonths(1).PlusDays(-1);
}

/// <summary>
/// Lines of a contract's life (<see cref="Script"/>), and between them lines <c>2026-10-03 close 2026-09</c>. Then what the
/// packets say: a row of a report is its words and figures between bars, <c>three | rent | 38.00</c>.
/// </summary>
public sealed class MonthScript
{
    private readonly Dictionary<string, Packet> packets = new(StringComparer.Ordinal);
    private readonly PaperMonths months;

    private MonthScript(Script script) => months = new PaperMonths(script.Shop);

    public MonthEndFigures Figures => months.Figures!;

    public static MonthScript Given(string text)
    {
        var script = Script.Given("");
        var made = new MonthScript(script);
        foreach (var line in text.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            if (line.Split(' ') is [var day, "close", var month])
            {
                var at = LocalDatePattern.Iso.Parse(day).Value.AtStartOfDayInZone(InMemoryShop.Zone).ToInstant() + Duration.FromHours(18);
                made.packets[month] = made.months.Close(YearMonthPattern.Iso.Parse(month).Value, at);
                continue;
            }

            script.When(line).ThenAccepted();
            made.months.Post();
        }

        return made;
    }

    public Packet Packet(string month) => packets[month];

    /// <summary>All checks of a month passed.</summary>
    public MonthScript ThenChecked(string month)
    {
        Xunit.Assert.All(packets[month].Checks, check => Xunit.Assert.True(check.Passed, $"{month}: {check.Name}: {check.Detail}"));
        return this;
    }

    /// <summary>The rows of a report, sums included, with only the columns that are named.</summary>
    public MonthScript ThenRows(string month, string report, string columns, string expected)
    {
        var wanted = expected.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
        Xunit.Assert.Equal(string.Join('\n', wanted), string.Join('\n', Rows(packets[month], report, columns.Split(' '))));
        return this;
    }

    public static IEnumerable<string> Rows(Packet packet, string report, params string[] columns)
    {
        var found = packet.Reports.Single(one => one.Id == report);
        var at = columns.Select(id => found.Columns.ToList().FindIndex(column => column.Id == id)).ToList();
        return found.Rows.Select(row => string.Join(" | ", at.Select(index => row.Cells[index].Plain)).Trim());
    }
}
