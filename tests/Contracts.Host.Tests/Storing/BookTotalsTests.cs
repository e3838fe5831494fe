using Contracts.Books;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Books;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Storing;

/// <summary>The sums of the books, answered from months and edges, beside a plain walk over every line and day.</summary>
public sealed class BookTotalsTests(Server server)
{
    private static readonly LocalDate First = new(2026, 8, 1);

    [Fact]
    public async Task Sums_between_any_two_days_as_known_at_any_moment_are_the_sums_of_the_lines()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        await FillAsync(store, database);
        var sets = await store.Books.SetsAsync(Instant.FromUtc(2030, 1, 1, 0, 0)).ToListAsync();
        Assert.Contains(sets, set => set.OpenFrom is not null && set.Lines.Any(line => line.Spread is not null && line.On < set.OpenFrom));
        var random = new Random(20261001);
        foreach (var by in Enum.GetValues<BookDay>())
        {
            for (var question = 0; question < 150; question++)
            {
                var from = question % 3 == 0 ? LocalDate.MinIsoValue : First.PlusDays(random.Next(0, 190));
                var through = question % 7 == 0 ? LocalDate.MaxIsoValue : question % 5 == 0 ? Month(random.Next(6)).PlusDays(-1) : First.PlusDays(random.Next(0, 190));
                var known = question % 11 == 0
                    ? Month(random.Next(6)).AtMidnight().InUtc().ToInstant() - Duration.FromMilliseconds(1)
                    : First.AtMidnight().InUtc().ToInstant().Plus(Duration.FromMinutes(random.Next(0, 190 * 1440)));
                var totals = (await store.Books.TotalsAsync(from, through, known, by))
                    .Select(total => $"{total.Account} {total.Movement} {total.Authority} {total.Amount}");
                Assert.Equal(Plain(sets, from, through, known, by), totals);
            }
        }
    }

    private static LocalDate Month(int number) => First.PlusMonths(number);

    private static IEnumerable<string> Plain(List<PostingSet> sets, LocalDate from, LocalDate through, Instant known, BookDay by)
    {
        var sums = new SortedDictionary<(BookAccount, Movement, string), Money>();
        foreach (var set in sets.Where(set => set.At <= known))
        {
            foreach (var line in set.Lines)
            {
                for (var day = line.On; day <= line.Last; day = day.PlusDays(1))
                {
                    var counted = by == BookDay.Booked ? set.BookedOn(day) : day;
                    if (counted < from || counted > through) { continue; }
                    var key = (line.Account, line.Movement, line.Authority);
                    sums[key] = sums.GetValueOrDefault(key) + line.Through(day) - line.Through(day.PlusDays(-1));
                }
            }
        }

        return sums.Where(pair => pair.Value != Money.Zero).Select(pair => $"{pair.Key.Item1} {pair.Key.Item2} {pair.Key.Item3} {pair.Value}");
    }

    private static async Task FillAsync(ContractsStore store, string database)
    {
        await store.ApplyAsync(Lines.Tax);
        for (var number = 0; number < 9; number++)
        {
            await store.ApplyAsync(Lines.Sign($"C-{number}", $"S-{number}", at: $"2026-08-{5 + (3 * number):00}T{10 + number}:00:00Z"));
        }

        await BillAsync(store, new LocalDate(2026, 8, 31), "2026-09-01T03:00:00Z");
        for (var number = 0; number < 6; number++)
        {
            await store.ApplyAsync(Lines.Pay($"C-{number}", $"p{number}", "21.60", $"2026-09-{10 + number}T{8 + number:00}:00:00Z", on: $"2026-09-0{1 + number}"));
        }

        // September is closed in the middle of what is known: what comes later is booked from October on.
        await Server.RunAsync(database, "insert into contracts.periods values ('2026-09-01', 1, '2026-10-03Z', '-')");
        await store.ApplyAsync(Lines.Pay("C-7", "late", "50.00", "2026-10-04T09:00:00Z", on: "2026-09-02"));
        await BillAsync(store, new LocalDate(2026, 10, 31), "2026-11-01T03:00:00Z");
        await store.ApplyAsync("""{"do":"return","key":"r","at":"2026-11-05T09:00:00Z","contract":"C-8","on":"2026-09-20","reason":"late"}""");
        await store.ApplyAsync("""{"do":"return","key":"r3","at":"2026-11-05T15:00:00Z","contract":"C-3","on":"2026-11-05"}""");
        await store.ApplyAsync(Lines.Pay("C-1", "last", "33.00", "2026-11-05T18:00:00Z"));
        await BillAsync(store, new LocalDate(2026, 12, 31), "2027-01-01T03:00:00Z");
    }

    private static async Task BillAsync(ContractsStore store, LocalDate through, string at)
    {
        var bill = new Agreements.Command.Bill(through) { Origin = new Agreements.CommandOrigin($"bill {through}", null, null) };
        Assert.IsType<CommandResult.Applied>(await store.Pipeline.BillAsync(bill, NodaTime.Text.InstantPattern.ExtendedIso.Parse(at).Value));
    }
}
