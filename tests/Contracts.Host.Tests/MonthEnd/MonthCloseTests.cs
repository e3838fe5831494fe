using Contracts.Agreements;
using Contracts.Books;
using Contracts.Books.Packet;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Books;
using NodaTime;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.MonthEnd;

/// <summary>Closing months of the invented school year on a real PostgreSQL.</summary>
public sealed class MonthCloseTests(Server server)
{
    private static readonly YearMonth August = new(2026, 8);
    private static readonly YearMonth September = new(2026, 9);
    private static readonly YearMonth October = new(2026, 10);

    [Fact]
    public async Task A_closed_month_is_made_again_to_the_byte_whatever_is_learned_later()
    {
        await using var store = await SchoolYearAsync(until: "2026-10-03");
        var closed = await CloseAsync(store, September, "2026-10-03T12:00:00Z");
        Assert.IsType<CommandResult.Applied>(closed.Outcome);
        var before = PacketJson.Bytes(closed.Packet!);
        var books = await BooksAsync(store, new LocalDate(2026, 9, 30), BookDay.Booked);
        var effective = await BooksAsync(store, new LocalDate(2026, 9, 30), BookDay.Effective);

        var late = Enumerable.Range(0, 1000).Select(number => LatePayment(number)).ToArray();
        Assert.All(await store.ApplyAsync(late), result => Assert.IsType<CommandResult.Applied>(result));

        var (again, isSame) = await store.MonthClose.MakeAgainAsync(September);
        Assert.True(isSame);
        Assert.Equal(before, PacketJson.Bytes(again!));
        Assert.True((await store.MonthClose.MakeAgainAsync(August)).IsSame);
        Assert.Equal(books, await BooksAsync(store, new LocalDate(2026, 9, 30), BookDay.Booked));
        Assert.NotEqual(effective, await BooksAsync(store, new LocalDate(2026, 9, 30), BookDay.Effective));
        Assert.Empty((await store.BookAudit.RunAsync(Instant.MaxValue - Duration.FromDays(4000))).Differences);
    }

    [Fact]
    public async Task What_is_learned_of_a_closed_month_is_booked_in_the_next_and_listed_with_its_cause()
    {
        await using var store = await SchoolYearAsync(until: "2026-10-03");
        await CloseAsync(store, September, "2026-10-03T12:00:00Z");
        await store.ApplyAsync(LatePayment(7));
        var closed = await CloseAsync(store, October, "2026-11-04T12:00:00Z");
        Assert.IsType<CommandResult.Applied>(closed.Outcome);
        var items = closed.Packet!.Reports.Single(report => report.Id == "prior-periods");
        Assert.NotEmpty(items.Rows);
        Assert.Contains(items.Rows, row => row.Cells.Any(cell => cell.Plain.StartsWith("payment received", StringComparison.Ordinal))
            && row.Cells.Any(cell => cell.Plain == "2026-09") && row.Cells[^1].Plain == "0.14");
        Assert.Equal(Money.Zero, items.Rows.Aggregate(Money.Zero, (sum, row) => sum + Money.Parse(row.Cells[^1].Plain)));
    }

    [Fact]
    public async Task A_month_is_closed_once_in_order_and_when_it_is_over()
    {
        await using var store = await SchoolYearAsync(until: "2026-09-02");
        Assert.Equal((RefusalCode.MonthNotOver, "2026-10-01"), Refused(await CloseAsync(store, September, "2026-09-03T12:00:00Z")));
        Assert.Equal((RefusalCode.MonthGap, "2026-08"), Refused(await CloseAsync(store, September, "2026-10-03T12:00:00Z")));
        Assert.IsType<CommandResult.Applied>((await CloseAsync(store, August, "2026-10-03T12:00:00Z")).Outcome);
        Assert.Equal((RefusalCode.MonthAlreadyClosed, "2026-09"), Refused(await CloseAsync(store, August, "2026-10-03T12:00:00Z", key: "again")));
        Assert.IsType<CommandResult.Already>((await CloseAsync(store, August, "2026-10-03T12:00:00Z")).Outcome);
        Assert.Null((await store.MonthClose.MakeAgainAsync(September)).Packet);
    }

    /// <summary>
    /// One cent in the month that is closed. Of what is earned by day (movement 9, released) the cube keeps one side, so that damage there
    /// shows by the accounts and not by debits and credits: it is another row.
    /// </summary>
    private const string DamagedMonth = """
        update contracts.book_months set cents = cents + 1 where ctid = (
            select ctid from contracts.book_months where account % 100 <> 9 and booked_month = '2026-09-01' limit 1)
        """;

    [Fact]
    public async Task A_month_whose_figures_disagree_stays_open_and_says_which()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await SchoolYearAsync(until: "2026-10-03", database);
        await Server.RunAsync(database, DamagedMonth);
        var refused = Assert.IsType<CommandResult.Refused>((await CloseAsync(store, September, "2026-10-03T12:00:00Z")).Outcome);
        Assert.Equal(RefusalCode.CloseCheckFailed, refused.Refusal.Code);
        Assert.Contains("Debits equal credits", refused.Refusal.Detail, StringComparison.Ordinal);
        Assert.Equal(1, await CountAsync(database, "select count(*) from contracts.periods"));
        Assert.NotEmpty((await store.BookAudit.RunAsync(await store.Reader.NowAsync())).Differences);
        Assert.Equal(1, await store.BookAudit.RebuildAsync());
        await Server.RunAsync(database, "update contracts.book_cells set cents = cents + 1 where ctid = (select ctid from contracts.book_cells limit 1)");
        Assert.Equal("book_cells", Assert.Single((await store.BookAudit.RunAsync(await store.Reader.NowAsync())).Differences).Stream);
        Assert.Equal(1, await store.BookAudit.RebuildAsync());
        Assert.IsType<CommandResult.Applied>((await CloseAsync(store, September, "2026-10-03T12:00:00Z")).Outcome);
    }

    [Fact]
    public async Task A_month_whose_tax_payable_moved_by_more_than_its_charges_bore_stays_open_and_says_whose()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await SchoolYearAsync(until: "2026-10-03", database);
        // A dollar of one authority's tax goes from charged to taken back: no balance changes, only what a return would say.
        await Server.RunAsync(database, """
            update contracts.book_months set cents = cents + 100 where ctid = (select ctid from contracts.book_months
                where account = 21001 and authority = 'dunmarrow-hill' and booked_month = '2026-09-01' limit 1);
            insert into contracts.book_months (account, authority, shop, booked_month, effective_month, recorded_month, cents)
                values (21002, 'dunmarrow-hill', 'main', '2026-09-01', '2026-09-01', '2026-09-01', -100)
                on conflict (account, authority, shop, booked_month, effective_month, recorded_month) do update set cents = contracts.book_months.cents - 100;
            """);
        var refused = Assert.IsType<CommandResult.Refused>((await CloseAsync(store, September, "2026-10-03T12:00:00Z")).Outcome);
        Assert.Equal(RefusalCode.CloseCheckFailed, refused.Refusal.Code);
        Assert.StartsWith(
            "Net tax by authority is what sales tax payable moved by: 2 sums differ; dunmarrow-hill charged ", refused.Refusal.Detail, StringComparison.Ordinal);
        Assert.Equal(1, await CountAsync(database, "select count(*) from contracts.periods"));
        Assert.Equal(2, await store.BookAudit.RebuildAsync());
        Assert.IsType<CommandResult.Applied>((await CloseAsync(store, September, "2026-10-03T12:00:00Z")).Outcome);
    }

    /// <summary>The digest is the one that the program recorded for this month before it knew of a second form.</summary>
    [Fact]
    public async Task A_month_closed_before_the_packet_had_a_second_form_is_made_again_in_the_first()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await SchoolYearAsync(until: "2026-10-03", database);
        await CloseAsync(store, September, "2026-10-03T12:00:00Z");
        Assert.True((await store.MonthClose.MakeAgainAsync(September)).IsSame);
        await Server.RunAsync(database, """
            update contracts.mt_events set data = (data - 'form') || '{"digest":"14b7cbf1bd3959e56dbd65478e0e6f6869736201da622f99fba841bf01c0b094"}'
                where type = 'period_closed' and data->>'month' = '2026-09'
            """);
        var (packet, isSame) = await store.MonthClose.MakeAgainAsync(September);
        Assert.Equal("14b7cbf1bd3959e56dbd65478e0e6f6869736201da622f99fba841bf01c0b094", PacketJson.Digest(packet!));
        Assert.True(isSame);
    }

    [Fact]
    public async Task A_close_that_is_killed_in_the_middle_leaves_the_month_open_and_nothing_posted()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await SchoolYearAsync(until: "2026-10-03", database);
        await Server.RunAsync(database, """
            create function contracts.kill() returns trigger language plpgsql as 'begin perform pg_terminate_backend(pg_backend_pid()); return new; end';
            create trigger kill before insert on contracts.posting_sets for each row when (new.stream = 'books:periods') execute function contracts.kill();
            """);
        await Assert.ThrowsAsync<StoreException>(() => CloseAsync(store, September, "2026-10-03T12:00:00Z"));
        Assert.Equal(1, await CountAsync(database, "select count(*) from contracts.periods"));
        Assert.Equal(1, await CountAsync(database, "select count(*) from contracts.mt_events where type = 'period_closed'"));
        Assert.Equal(0, await CountAsync(database, "select count(*) from contracts.posting_sets where stream = 'books:periods' and recorded_at > '2026-10-01Z'"));
        await Server.RunAsync(database, "drop trigger kill on contracts.posting_sets");
        Assert.IsType<CommandResult.Applied>((await CloseAsync(store, September, "2026-10-03T12:00:00Z")).Outcome);
        Assert.True((await store.MonthClose.MakeAgainAsync(September)).IsSame);
    }

    [Fact]
    public async Task A_shop_needs_a_calendar_and_then_has_books_of_its_own()
    {
        await using var store = await SchoolYearAsync(until: "2026-09-02");
        static string Sign(string contract, string on) => Lines.Sign(contract, $"S-{contract}", at: on).Replace(
            "\"planElected\":false", "\"planElected\":false,\"shop\":\"harbour-street\"", StringComparison.Ordinal);
        static string Calendar(string shop, string month, string at) =>
            $$"""{"do":"set-calendar","key":"cal-{{shop}}-{{month}}","at":"{{at}}","shop":"{{shop}}","month":"{{month}}"}""";
        async Task<RefusalCode?> ApplyAsync(string line) => ((await store.ApplyAsync(line))[0] as CommandResult.Refused)?.Refusal.Code;

        await store.ApplyAsync(Lines.Tax.Replace("2026-08-01T", "2026-09-02T", StringComparison.Ordinal));
        Assert.Equal(RefusalCode.ShopWithoutCalendar, await ApplyAsync(Sign("C-9001", "2026-09-03T12:00:00Z")));
        Assert.Null(await ApplyAsync(Calendar("harbour-street", "2026-10", "2026-09-03T12:00:00Z")));
        Assert.Equal(RefusalCode.CalendarInUse, await ApplyAsync(Calendar("harbour-street", "2026-09", "2026-09-03T12:00:00Z")));
        Assert.Equal(RefusalCode.ShopWithoutCalendar, await ApplyAsync(Sign("C-9001", "2026-09-03T12:00:00Z")));
        Assert.IsType<CommandResult.Applied>((await CloseAsync(store, August, "2026-09-05T12:00:00Z")).Outcome);
        Assert.Equal(RefusalCode.CalendarInUse, await ApplyAsync(Calendar("mill-street", "2026-08", "2026-09-05T12:00:00Z")));
        Assert.Null(await ApplyAsync(Sign("C-9001", "2026-10-02T12:00:00Z")));
        Assert.Null(await ApplyAsync(Lines.Pay("C-9001", "pay-9001", "21.60", "2026-10-02T12:00:00Z")));
        var totals = await store.Books.TotalsAsync(LocalDate.MinIsoValue, new LocalDate(2026, 10, 31), Instant.MaxValue);
        var theirs = totals.Where(total => total.Shop == "harbour-street").ToList();
        Assert.Equal(new Money(2160), theirs.Single(total => total.Account == BookAccount.CashDrawer).Amount);
        Assert.Equal(Money.Zero, theirs.Where(total => total.Account < BookAccount.EquityHeld).Aggregate(Money.Zero, (sum, total) => sum + total.Amount));
        Assert.Empty((await store.BookAudit.RunAsync(await store.Reader.NowAsync())).Differences);
    }

    [Fact]
    public async Task Every_month_of_the_school_year_closes_and_what_left_the_fleet_takes_its_depreciation_along()
    {
        await using var store = await SchoolYearAsync(until: "2027-12-31");
        for (var month = September; month <= new YearMonth(2027, 5); month = month.PlusMonths(1))
        {
            var closed = await CloseAsync(store, month, "2027-06-15T22:08:37Z");
            Assert.True(closed.Outcome is CommandResult.Applied, $"{month}: {closed.Outcome}");
        }

        var totals = await store.Books.TotalsAsync(LocalDate.MinIsoValue, new LocalDate(2027, 5, 31), Instant.MaxValue);
        foreach (var account in new[] { BookAccount.CostOfInstrumentsSold, BookAccount.UnitsLost })
        {
            Assert.True(totals.Single(total => total.Account == account && total.Movement == Movement.Disposed).Amount < Money.Zero, $"{account}");
        }
    }

    [Fact]
    public async Task A_year_of_packets_compares_with_what_the_packets_of_those_months_said()
    {
        await using var store = await SchoolYearAsync(until: "2027-12-31");
        var packets = new Dictionary<YearMonth, Packet> { [August] = (await store.MonthClose.MakeAgainAsync(August)).Packet! };
        for (var month = September; month <= new YearMonth(2027, 9); month = month.PlusMonths(1))
        {
            packets[month] = (await CloseAsync(store, month, "2027-10-05T12:00:00Z")).Packet!;
        }

        for (var month = September; month <= new YearMonth(2027, 9); month = month.PlusMonths(1))
        {
            var (now, before) = (packets[month], packets[month.PlusMonths(-1)]);
            Assert.All(now.Checks, check => Assert.True(check.Passed, $"{month}: {check.Name}: {check.Detail}"));
            Assert.Equal(Figures(before, "income-statement", "month"), Figures(now, "income-statement", "monthBefore"));
            Assert.Equal(Figures(before, "balance-sheet", "closing"), Figures(now, "balance-sheet", "opening"));
            if (!packets.TryGetValue(month.PlusMonths(-12), out var ago))
            {
                Assert.Empty(Figures(now, "income-statement", "yearAgo"));
                continue;
            }

            Assert.Equal(Figures(ago, "income-statement", "month"), Figures(now, "income-statement", "yearAgo"));
            Assert.Equal(Figures(ago, "balance-sheet", "closing"), Figures(now, "balance-sheet", "yearAgo"));
            Assert.Equal(Figures(ago, "trial-balance", "closing"), Figures(now, "trial-balance", "yearAgo"));
            Assert.True((await store.MonthClose.MakeAgainAsync(month)).IsSame);
        }

        static List<string> Figures(Packet packet, string id, string column) =>
            [.. Column(packet, id, column).Where(pair => pair.Value is not ("" or "0.00")).Select(pair => $"{pair.Key} {pair.Value}")];
    }

    [Fact]
    public async Task What_is_learned_of_a_closed_month_is_in_the_taxes_of_the_next_as_of_a_closed_month()
    {
        await using var store = await SchoolYearAsync(until: "2026-10-03");
        await CloseAsync(store, September, "2026-10-03T12:00:00Z");
        await store.ApplyAsync(
            """
            {"do":"sign","key":"late-sign","at":"2026-10-05T12:00:00Z","contract":"C-9001","on":"2026-09-10","household":"H","state":"OR",
             "instrument":{"kind":"flute","serial":"S-9001","condition":"new"},"jurisdiction":"dunmarrow-hill","startOn":"2026-09-10",
             "terms":{"cashPrice":"300.00","purchasePrice":"300.00","monthlyRent":"32.00","creditShare":"1.00"},"accessories":[],"planElected":false}
            """);
        var closed = await CloseAsync(store, October, "2026-11-04T12:00:00Z");
        Assert.IsType<CommandResult.Applied>(closed.Outcome);
        Assert.Equal("2.00", Column(closed.Packet!, "tax-by-authority", "late")["dunmarrow-hill dunmarrow-hill"]);
        Assert.Equal("32.00", Column(closed.Packet!, "taxable-receipts", "late")["dunmarrow-hill rent"]);
        var books = (await store.Books.TotalsAsync(new LocalDate(2026, 10, 1), new LocalDate(2026, 10, 31), Instant.MaxValue))
            .Where(total => total.Account == BookAccount.SalesTaxPayable).Aggregate(Money.Zero, (sum, total) => sum - total.Amount);
        Assert.Equal($"{books}", Column(closed.Packet!, "tax-by-authority", "net")["total "]);
    }

    [Fact]
    public async Task A_fact_recorded_at_the_very_instant_of_the_close_and_after_it_is_not_in_the_packet()
    {
        await using var store = await SchoolYearAsync(until: "2026-10-03");
        await CloseAsync(store, September, "2026-10-05T12:00:00Z");
        Assert.IsType<CommandResult.Applied>((await store.ApplyAsync(LatePayment(3)))[0]);
        Assert.True((await store.MonthClose.MakeAgainAsync(September)).IsSame);
    }

    [Fact]
    public async Task A_rate_for_days_that_are_billed_already_posts_the_difference_at_once()
    {
        await using var store = await server.NewStoreAsync();
        await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
        var origin = new CommandOrigin("bill", null, null);
        var at = Instant.FromUtc(2026, 9, 2, 12, 0);
        await store.Pipeline.BillAsync(new Command.Bill(new LocalDate(2026, 12, 31)) { Origin = origin }, at);
        // Installments of 30.00 fall due on the first of October, November and December; the last two under the new rate.
        Assert.Equal(new Money(160 + (3 * 240)), await TaxAsync());
        await store.ApplyAsync(Lines.Tax.Replace("\"tax\"", "\"tax-2\"", StringComparison.Ordinal).Replace("2026-08-01T", "2026-09-03T", StringComparison.Ordinal)
            .Replace("0.08", "0.10", StringComparison.Ordinal).Replace("2020-01-01", "2026-10-15", StringComparison.Ordinal));
        Assert.Equal(new Money(160 + 240 + (2 * 300)), await TaxAsync());
        Assert.Empty((await store.BookAudit.RunAsync(await store.Reader.NowAsync())).Differences);

        async Task<Money> TaxAsync() => Money.Zero - (await store.Books.TotalsAsync(LocalDate.MinIsoValue, new LocalDate(2026, 12, 31), Instant.MaxValue))
            .Where(total => total.Account == BookAccount.SalesTaxPayable).Aggregate(Money.Zero, (sum, total) => sum + total.Amount);
    }

    [Fact]
    public async Task A_store_from_before_the_books_gets_the_postings_it_would_have_had()
    {
        var database = await server.NewDatabaseAsync();
        await using (await SchoolYearAsync(until: "2027-06-30", database, withClose: false)) { }
        var before = await PostingsAsync(database);
        await Server.RunAsync(database, """
            drop view contracts.postings; drop index contracts.events_jurisdiction;
            drop table contracts.posting_sets, contracts.book_cells, contracts.book_months, contracts.periods;
            drop schema vault, audit, access cascade; drop index contracts.events_household; drop table contracts.zone_data, contracts.waiting_texts;
            delete from contracts.schema_version where version > 2;
            update contracts.schema_version set version = 1;
            """);
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        Assert.Equal(before, await PostingsAsync(database));
        Assert.True(before.Count > 1000);
        Assert.Empty((await store.BookAudit.RunAsync(await store.Reader.NowAsync())).Differences);
    }

    private static async Task<List<string>> PostingsAsync(string database)
    {
        await using var source = NpgsqlDataSource.Create(database);
        await using var command = source.CreateCommand("select p::text from contracts.postings p order by sequence, stream, line");
        var lines = new List<string>();
        await using var reader = await command.ExecuteReaderAsync();
        while (await reader.ReadAsync()) { lines.Add(reader.GetString(0)); }
        return lines;
    }

    [Fact]
    public async Task Roll_forwards_lead_from_one_packet_to_the_next()
    {
        await using var store = await SchoolYearAsync(until: "2026-11-03");
        var september = (await CloseAsync(store, September, "2026-11-03T12:00:00Z")).Packet!;
        var october = (await CloseAsync(store, October, "2026-11-03T12:00:00Z")).Packet!;
        foreach (var id in new[] { "trial-balance", "deferred", "credits", "fleet", "equity-memo", "sales-tax" })
        {
            var (before, after) = (Column(september, id, "closing"), Column(october, id, "opening"));
            Assert.Equal(before.Where(pair => pair.Value != "0.00"), after.Where(pair => pair.Value != "0.00"));
            var report = october.Reports.Single(one => one.Id == id);
            Assert.All(report.Columns.Where(column => column.Id == "other"), column =>
                Assert.All(report.Rows, row => Assert.Equal("0.00", row.Cells[report.Columns.IndexOf(column)].Plain)));
        }
    }

    private static SortedDictionary<string, string> Column(Packet packet, string id, string column)
    {
        var report = packet.Reports.Single(one => one.Id == id);
        var at = report.Columns.ToList().FindIndex(one => one.Id == column);
        var figures = new SortedDictionary<string, string>(StringComparer.Ordinal);
        foreach (var row in report.Rows) { figures[$"{row.Cells[0].Plain} {row.Cells[1].Plain}".Split(" 0.00")[0]] = row.Cells[at].Plain; }
        return id == "sales-tax" ? new(report.Rows.ToDictionary(row => row.Cells[0].Plain, row => row.Cells[at].Plain)) : figures;
    }

    private static (RefusalCode Code, string? Right) Refused(CloseResult result)
    {
        var refused = Assert.IsType<CommandResult.Refused>(result.Outcome);
        return (refused.Refusal.Code, refused.Refusal.RightFigure);
    }

    /// <summary>Payments of a few cents on days of the closed month, on contracts of the demo that run.</summary>
    private static string LatePayment(int number) => Lines.Pay(
        $"C-{1001 + (number % 30)}", $"late-{number}", $"0.{(number % 90) + 7:00}"[..4], "2026-10-05T12:00:00Z", $"2026-09-{(number % 20) + 8:00}");

    private static async Task<CloseResult> CloseAsync(ContractsStore store, YearMonth month, string at, string? key = null)
    {
        var close = new Command.Close(month) { Origin = new CommandOrigin(key ?? $"close-{month}", "tests", null) };
        return await store.MonthClose.CloseAsync(close, Chart.Standard, "Rental programme", NodaTime.Text.InstantPattern.ExtendedIso.Parse(at).Value);
    }

    private static async Task<string> BooksAsync(ContractsStore store, LocalDate through, BookDay by)
    {
        var totals = await store.Books.TotalsAsync(LocalDate.MinIsoValue, through, Instant.MaxValue, by);
        var balance = TrialBalance.Of(Chart.Standard, totals.Select(total => (total.Account, total.Authority, total.Amount)));
        return string.Join('\n', balance.Accounts.Concat(balance.Memo).Select(line => $"{line.Name} {line.Balance}"));
    }

    private static async Task<long> CountAsync(string database, string sql)
    {
        await using var source = NpgsqlDataSource.Create(database);
        await using var command = source.CreateCommand(sql);
        return (long)(await command.ExecuteScalarAsync())!;
    }

    /// <summary>The demo's lines up to a day, its close of August among them. Papers stay out: they move no money, and this store has no press.</summary>
    private async Task<ContractsStore> SchoolYearAsync(string until, string? database = null, bool withClose = true)
    {
        var store = await ContractsStore.OpenAsync(database ?? await server.NewDatabaseAsync(), new StoreSettings(Server.Zone, true, null, server.Keys));
        foreach (var line in await File.ReadAllLinesAsync(Demo()))
        {
            if (line.Length == 0) { continue; }
            var request = Lines.Request(line);
            if (string.CompareOrdinal(NodaTime.Text.InstantPattern.ExtendedIso.Format(request.At!.Value), until) >= 0) { break; }
            switch (request.Command)
            {
                case Command.Bill bill: await store.Pipeline.BillAsync(bill, request.At); break;
                case Command.OnContract { Body: ContractCommand.Issue }: break;
                case Command.Close when !withClose: break;
                case Command.Close close: await store.MonthClose.CloseAsync(close, Chart.Standard, "Rental programme", request.At); break;
                default: Assert.IsType<CommandResult.Applied>(await store.Pipeline.ApplyAsync(request)); break;
            }
        }

        return store;
    }

    private static string Demo([System.Runtime.CompilerServices.CallerFilePath] string here = "") =>
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(here)!, "..", "..", "..", "fixtures", "demo", "school-year.jsonl"));
}
