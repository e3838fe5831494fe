using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Books.Month;
using Contracts.History;
using Contracts.Store.Reading;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Books;

/// <summary>Gathers what a packet is made of, as known at one moment through one event: for a close, and ever after.</summary>
internal sealed class MonthFigures(NpgsqlDataSource source, StoreReader reader, BooksReader books, Periods periods)
{
    private const string PriorSets = $"""
        select {PostingRows.Columns}, e.type, e.headers->>'reason', e.headers->>'actor'
        from contracts.posting_sets s left join contracts.mt_events e on e.seq_id = s.sequence
        where s.open_from between $1 and $2 and s.recorded_at <= $3 and s.sequence <= $4
          and exists (select 1 from unnest(s.days) as d (day) where d.day < s.open_from)
        order by s.sequence, s.stream
        """;

    public async Task<MonthEndFigures> ReadAsync(YearMonth month, Instant known, long throughSequence, string title, CancellationToken stop)
    {
        var totals = await TotalsAsync(month, known, throughSequence, stop).ConfigureAwait(false);
        var portfolio = await PortfolioAsync(totals, known, throughSequence, stop).ConfigureAwait(false);
        var prior = await PriorAsync(totals, known, throughSequence, stop).ConfigureAwait(false);
        var differs = await ClosedDiffersAsync(month, known, throughSequence, stop).ConfigureAwait(false);
        return new MonthEndFigures(totals, portfolio, prior, differs, known, throughSequence, title);
    }

    private async Task<MonthTotals> TotalsAsync(YearMonth month, Instant known, long throughSequence, CancellationToken stop)
    {
        var first = month.OnDayOfMonth(1);
        var year = new LocalDate(month.Year, 1, 1);
        return new MonthTotals(
            month,
            await SumAsync(LocalDate.MinIsoValue, first.PlusDays(-1)).ConfigureAwait(false),
            await SumAsync(first, first.PlusMonths(1).PlusDays(-1)).ConfigureAwait(false),
            year == first ? [] : await SumAsync(year, first.PlusDays(-1)).ConfigureAwait(false));

        async Task<ImmutableArray<AccountTotal>> SumAsync(LocalDate from, LocalDate through)
        {
            var sums = await books.TotalsAsync(from, through, known, BookDay.Booked, throughSequence, stop).ConfigureAwait(false);
            return [.. sums.Select(total => new AccountTotal(total.Account, total.Movement, total.Authority, total.Amount))];
        }
    }

    private async Task<PortfolioMonth> PortfolioAsync(MonthTotals totals, Instant known, long throughSequence, CancellationToken stop)
    {
        var rates = await reader.RatesAsync(known, stop).ConfigureAwait(false);
        var portfolio = new PortfolioMonth(totals.First, totals.Last);
        var accounts = reader.MapHistoriesAsync(
            known,
            history =>
            {
                var then = history.Through(throughSequence);
                var booked = then.IsSigned ? BookedAccount.At(then, rates, totals.Last) : null;
                return (History: then, Booked: booked, IsBilled: booked is null || ContractDecider.IsBilled(then, booked.State));
            },
            stop);
        await foreach (var (history, booked, isBilled) in accounts.ConfigureAwait(false))
        {
            if (booked is not null) { portfolio.Add(history, booked, isBilled); }
        }

        return portfolio;
    }

    private async Task<ImmutableArray<PriorPeriodItem>> PriorAsync(MonthTotals totals, Instant known, long throughSequence, CancellationToken stop)
    {
        await using var command = source.CreateCommand(PriorSets);
        command.Parameters.Add(new NpgsqlParameter<LocalDate> { TypedValue = totals.First });
        command.Parameters.Add(new NpgsqlParameter<LocalDate> { TypedValue = totals.Last });
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = known });
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = throughSequence });
        var items = ImmutableArray.CreateBuilder<PriorPeriodItem>();
        await using var rows = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await rows.ReadAsync(stop).ConfigureAwait(false))
        {
            var cause = string.Join(", ", new[] { Text(12)?.Replace('_', ' '), Text(13), Text(14) is { } actor ? $"by {actor}" : null }.Where(part => part is not null));
            AddItems(items, PostingRows.Read(rows), cause.Length == 0 ? "recorded late" : cause);
        }

        return items.ToImmutable();

        string? Text(int column) => rows.IsDBNull(column) ? null : rows.GetString(column);
    }

    private static void AddItems(ImmutableArray<PriorPeriodItem>.Builder items, PostingSet set, string cause)
    {
        var sums = new SortedDictionary<(YearMonth Month, BookAccount Account), Money>(
            Comparer<(YearMonth Month, BookAccount Account)>.Create((left, right) =>
                left.Month == right.Month ? left.Account.CompareTo(right.Account) : left.Month.CompareTo(right.Month)));
        foreach (var line in set.Lines)
        {
            for (var month = line.On.ToYearMonth(); month.OnDayOfMonth(1) < set.OpenFrom && month <= line.Last.ToYearMonth(); month = month.PlusMonths(1))
            {
                var first = month.OnDayOfMonth(1);
                var amount = line.Through(first.PlusMonths(1).PlusDays(-1)) - line.Through(first.PlusDays(-1));
                sums[(month, line.Account)] = sums.GetValueOrDefault((month, line.Account)) + amount;
            }
        }

        foreach (var ((month, account), amount) in sums)
        {
            if (amount != Money.Zero) { items.Add(new PriorPeriodItem(set.Stream, set.Sequence, set.At, cause, month, account, amount)); }
        }
    }

    /// <summary>What is booked through the last closed month before this one, now and as its close knew it: they must be one.</summary>
    private async Task<Money> ClosedDiffersAsync(YearMonth month, Instant known, long throughSequence, CancellationToken stop)
    {
        var closed = await periods.ClosedAsync(stop).ConfigureAwait(false);
        if (closed.LastOrDefault(one => one.Month < month) is not { } last) { return Money.Zero; }
        var end = last.Month.OnDayOfMonth(1).PlusMonths(1).PlusDays(-1);
        var then = await books.TotalsAsync(LocalDate.MinIsoValue, end, last.ClosedAt, BookDay.Booked, last.Event.ThroughSequence, stop).ConfigureAwait(false);
        var now = await books.TotalsAsync(LocalDate.MinIsoValue, end, known, BookDay.Booked, throughSequence, stop).ConfigureAwait(false);
        var apart = now.ToDictionary(total => total with { Amount = Money.Zero }, total => total.Amount);
        foreach (var total in then)
        {
            var key = total with { Amount = Money.Zero };
            apart[key] = apart.GetValueOrDefault(key) - total.Amount;
        }

        return apart.Values.Aggregate(Money.Zero, (sum, amount) => sum + Money.Max(amount, Money.Zero - amount));
    }
}
