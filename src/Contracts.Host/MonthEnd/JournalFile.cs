using Contracts.Books;
using Contracts.Store.Books;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.MonthEnd;

/// <summary>
/// Writes posting sets as transactions: one for each set and booking day. What is earned by day is one transaction a day
/// for all contracts, unless every set is to carry its own. Two decimals always and every leg written out, since one of
/// the programs lets a missing digit pass.
/// </summary>
internal static class JournalFile
{
    public static async Task WriteAsync(
        TextWriter text, IAsyncEnumerable<PostingSet> sets, Chart chart, bool beancount, bool everyDay)
    {
        var journal = new Journal(text, chart, beancount);
        await journal.BeginAsync().ConfigureAwait(false);
        var earned = new SortedDictionary<(LocalDate Day, BookAccount Account), Money>();
        await foreach (var set in sets.ConfigureAwait(false))
        {
            foreach (var day in set.Lines.Where(line => line.Spread is null).GroupBy(line => set.BookedOn(line.On)).OrderBy(day => day.Key))
            {
                await journal.WriteAsync(day.Key, set, day).ConfigureAwait(false);
            }

            var spread = everyDay ? [] : earned;
            foreach (var line in set.Lines) { AddDays(line, set, spread); }
            if (everyDay) { await WriteEarnedAsync(journal, spread, set).ConfigureAwait(false); }
        }

        await WriteEarnedAsync(journal, earned, null).ConfigureAwait(false);
    }

    private static void AddDays(BookLine line, PostingSet set, SortedDictionary<(LocalDate Day, BookAccount Account), Money> earned)
    {
        if (line.Spread is null) { return; }
        foreach (var (day, amount) in line.ByDay())
        {
            var key = (set.BookedOn(day), line.Account);
            earned[key] = earned.GetValueOrDefault(key) + amount;
        }
    }

    private static async Task WriteEarnedAsync(
        Journal journal, SortedDictionary<(LocalDate Day, BookAccount Account), Money> earned, PostingSet? set)
    {
        foreach (var day in earned.GroupBy(pair => pair.Key.Day))
        {
            var legs = day.Where(pair => pair.Value != Money.Zero).Select(pair => (pair.Key.Account, "", pair.Value)).ToList();
            if (legs.Count > 0) { await journal.WriteAsync(day.Key, set is null ? "earned on this day" : $"{set.Stream} earned", null, legs).ConfigureAwait(false); }
        }
    }

    /// <summary>The text of one form.</summary>
    private sealed class Journal(TextWriter text, Chart chart, bool beancount)
    {
        private readonly HashSet<string> opened = new(StringComparer.Ordinal);

        public async Task BeginAsync()
        {
            await text.WriteLineAsync("; Postings of the rental programme. Equity and units are memo accounts in commodities of their own.").ConfigureAwait(false);
            if (beancount) { await text.WriteLineAsync("option \"operating_currency\" \"USD\"").ConfigureAwait(false); }
        }

        public Task WriteAsync(LocalDate day, PostingSet set, IEnumerable<BookLine> lines) => WriteAsync(
            day, set.Stream, set,
            [.. lines.GroupBy(line => (line.Account, line.Authority))
                .Select(group => (group.Key.Account, group.Key.Authority, group.Aggregate(Money.Zero, (sum, line) => sum + line.Amount)))
                .Where(leg => leg.Item3 != Money.Zero)]);

        public async Task WriteAsync(LocalDate day, string title, PostingSet? set, List<(BookAccount Account, string Authority, Money Amount)> legs)
        {
            if (legs.Count == 0) { return; }
            var names = legs.ConvertAll(leg => chart.NameOf(leg.Account, leg.Authority));
            if (beancount) { await OpenAsync(names).ConfigureAwait(false); }
            var date = LocalDatePattern.Iso.Format(day);
            await text.WriteLineAsync(beancount ? $"\n{date} * \"{title}\"" : $"\n{date} * {title}").ConfigureAwait(false);
            if (set is not null) { await text.WriteLineAsync(Meta(set)).ConfigureAwait(false); }
            for (var index = 0; index < legs.Count; index++)
            {
                await text.WriteLineAsync($"    {names[index]}  {legs[index].Amount} {chart[legs[index].Account].Commodity}").ConfigureAwait(false);
            }
        }

        // The same figures as tags of one program and metadata of the other.
        private string Meta(PostingSet set)
        {
            var recorded = InstantPattern.ExtendedIso.Format(set.At);
            return beancount
                ? $"    event: \"{set.Sequence}\"\n    recorded: \"{recorded}\"\n    shop: \"{set.Shop}\""
                : $"    ; event: {set.Sequence}\n    ; recorded: {recorded}\n    ; shop: {set.Shop}";
        }

        private async Task OpenAsync(List<string> names)
        {
            foreach (var name in names)
            {
                if (opened.Add(name)) { await text.WriteLineAsync($"1900-01-01 open {name}").ConfigureAwait(false); }
            }
        }
    }
}
