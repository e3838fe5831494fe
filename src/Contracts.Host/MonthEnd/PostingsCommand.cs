using System.CommandLine;
using System.Text.Json;
using Contracts.Books;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store.Books;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.MonthEnd;

/// <summary>`contracts postings`: the lines behind a figure of the books.</summary>
public static class PostingsCommand
{
    private static readonly string[] Columns =
    [
        "event", "recordedAt", "shop", "stream", "account", "movement", "effectiveOn", "bookedOn", "earnedFrom", "earnedBefore", "debit", "credit", "commodity",
    ];

    /// <summary>A line as it is listed; when days are shown one by one, a part of a line.</summary>
    private sealed record Listed(PostingSet Set, BookLine Line, LocalDate EffectiveOn, LocalDate BookedOn, Money Amount);

    public static Command Build()
    {
        var account = new Option<string?>("--account") { Description = "Only the account with this number." };
        var movement = new Option<string?>("--movement") { Description = "Only lines of this reason, such as charged or settled." };
        movement.CompletionSources.Add([.. Enum.GetValues<Movement>().Select(value => value.Word())]);
        var authority = new Option<string?>("--authority") { Description = "Only this tax authority." };
        var contract = new Option<string?>("--contract") { Description = "Only this contract." };
        var month = new Option<string?>("--month") { Description = "Only what was booked in this month, such as 2026-09." };
        var (fromOption, throughOption) = (CommonOptions.On("--from"), CommonOptions.On("--through"));
        fromOption.Description = "Only what was booked from this day on.";
        throughOption.Description = "Only what was booked through this day.";
        var prior = new Option<bool>("--prior-period") { Description = "Only what was booked after the month it is about had been closed." };
        var byDay = new Option<bool>("--by-day") { Description = "Show what is earned by day one day at a time: then the lines of a day add up." };
        var known = CommonOptions.Known();
        var command = new Command("postings", "The posting lines behind a figure of the books, in the order of recording.")
        {
            account, movement, authority, contract, month, fromOption, throughOption, prior, byDay, known, ChartOption.File,
        };
        command.SetAction((parse, stop) => ChartOption.RunAsync(
            parse,
            async (session, chart) =>
            {
                var (_, moment) = await session.ViewAsync(null, parse.GetValue(known), stop).ConfigureAwait(false);
                var wanted = Wanted(chart, parse.GetValue(account), parse.GetValue(movement), parse.GetValue(authority));
                var (from, through) = Days(parse.GetValue(month), parse.GetValue(fromOption), parse.GetValue(throughOption));
                var lines = ListAsync(session.Store.Books.SetsAsync(moment, parse.GetValue(contract), stop), parse.GetValue(byDay), from, through);
                var found = lines.Where(line => wanted(line.Line) && line.BookedOn >= from && line.BookedOn <= through
                    && (!parse.GetValue(prior) || line.BookedOn > line.EffectiveOn));
                await PrintAsync(found, chart, session.Format).ConfigureAwait(false);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Func<BookLine, bool> Wanted(Chart chart, string? number, string? movement, string? authority)
    {
        if (number is not null && chart.Accounts.All(one => one.Number != number)) { throw new UsageException($"The chart has no account {number}."); }
        if (movement is not null && Enum.GetValues<Movement>().All(one => one.Word() != movement)) { throw new UsageException($"There is no movement '{movement}'."); }
        return line => (number is null || chart[line.Account].Number == number)
            && (movement is null || line.Movement.Word() == movement) && (authority is null || line.Authority == authority);
    }

    private static (LocalDate From, LocalDate Through) Days(string? month, LocalDate? from, LocalDate? through)
    {
        if (month is null) { return (from ?? LocalDate.MinIsoValue, through ?? LocalDate.MaxIsoValue); }
        if (from is not null || through is not null) { throw new UsageException("--month stands for both --from and --through."); }
        var parsed = YearMonthPattern.Iso.Parse(month);
        if (!parsed.Success) { throw new UsageException($"'{month}' is not a month such as 2026-09."); }
        var first = parsed.Value.OnDayOfMonth(1);
        return (first, first.PlusMonths(1).PlusDays(-1));
    }

    private static async IAsyncEnumerable<Listed> ListAsync(IAsyncEnumerable<PostingSet> sets, bool byDay, LocalDate from, LocalDate through)
    {
        await foreach (var set in sets.ConfigureAwait(false))
        {
            foreach (var line in set.Lines)
            {
                if (byDay)
                {
                    foreach (var (day, amount) in line.ByDay()) { yield return new Listed(set, line, day, set.BookedOn(day), amount); }
                    continue;
                }

                // Of a period only what was booked in the days asked about: then the lines add up to the figure.
                var moved = set.Booked(line, from, through);
                var effective = line.Spread is null ? line.On : LocalDate.Max(line.On, from);
                if (moved != Money.Zero) { yield return new Listed(set, line, effective, set.BookedOn(effective), moved); }
            }
        }
    }

    private static async Task PrintAsync(IAsyncEnumerable<Listed> lines, Chart chart, OutputFormat format)
    {
        if (format == OutputFormat.Table) { await PrintTableAsync(lines, chart).ConfigureAwait(false); return; }
        if (format == OutputFormat.Csv) { await Console.Out.WriteLineAsync(string.Join(',', Columns)).ConfigureAwait(false); }
        if (format == OutputFormat.Json) { await Console.Out.WriteAsync('[').ConfigureAwait(false); }
        var first = true;
        await foreach (var line in lines.ConfigureAwait(false))
        {
            var cells = Cells(line, chart);
            if (format == OutputFormat.Csv) { await Console.Out.WriteLineAsync(string.Join(',', cells)).ConfigureAwait(false); continue; }
            if (format == OutputFormat.Json && !first) { await Console.Out.WriteLineAsync(',').ConfigureAwait(false); }
            await Console.Out.WriteAsync(AccountPrinter.Json(json => Write(json, cells))).ConfigureAwait(false);
            if (format == OutputFormat.Jsonl) { await Console.Out.WriteLineAsync().ConfigureAwait(false); }
            first = false;
        }

        if (format == OutputFormat.Json) { await Console.Out.WriteLineAsync(']').ConfigureAwait(false); }
    }

    private static async Task PrintTableAsync(IAsyncEnumerable<Listed> lines, Chart chart)
    {
        var table = AccountPrinter.Plain();
        string[] shown = ["event", "booked", "effective", "contract", "account", "movement", "earned before", "amount"];
        foreach (var title in shown) { table.AddColumn(title is "event" or "amount" ? new TableColumn(title).RightAligned() : new TableColumn(title)); }
        await foreach (var line in lines.ConfigureAwait(false))
        {
            var cells = Cells(line, chart);
            string[] row = [cells[0], cells[7], cells[6], cells[3], cells[4], cells[5], cells[9], line.Amount.ToString()];
            table.AddRow(row.Select(text => new Text(text)));
        }

        AnsiConsole.Write(table);
    }

    private static string[] Cells(Listed line, Chart chart) =>
    [
        line.Set.Sequence.ToString(System.Globalization.CultureInfo.InvariantCulture), InstantPattern.ExtendedIso.Format(line.Set.At), line.Set.Shop, line.Set.Stream,
        chart.NameOf(line.Line.Account, line.Line.Authority), line.Line.Movement.Word(), Iso(line.EffectiveOn), Iso(line.BookedOn),
        line.Line.Spread is { } spread ? Iso(spread.From) : "", line.Line.Spread is { } period ? Iso(period.To) : "",
        Money.Max(line.Amount, Money.Zero).ToString(), Money.Max(Money.Zero - line.Amount, Money.Zero).ToString(), chart[line.Line.Account].Commodity,
    ];

    private static void Write(Utf8JsonWriter json, string[] cells)
    {
        json.WriteStartObject();
        for (var index = 0; index < cells.Length; index++)
        {
            if (cells[index].Length > 0) { json.WriteString(Columns[index], cells[index]); }
        }

        json.WriteEndObject();
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
