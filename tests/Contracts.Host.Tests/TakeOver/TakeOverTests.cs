using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using NodaTime;
using Npgsql;
using Xunit;
using static Contracts.Host.Tests.TakeOver.InventedBook;

namespace Contracts.Host.Tests.TakeOver;

/// <summary>A book of the shop's own taken over on PostgreSQL: at the terminal, and the store asked what became of it.</summary>
public sealed class TakeOverTests(Server server)
{
    private static readonly string[] Book =
        [Fixture("contracts.csv"), "--payments", Fixture("payments.csv"), "--mapping", Fixture("mapping.json"), "--totals", Fixture("totals.json"), "--simulated-clock", "--by", "office"];

    [Fact]
    public async Task A_book_comes_in_on_its_own_days_and_is_known_from_now_on()
    {
        var database = await server.NewDatabaseAsync();
        Assert.Equal(0, (await Shell.ContractsAsync(database, "load", Fixture("rates.jsonl"), "--simulated-clock")).Exit);
        var tried = await TakeAsync(database, [.. Book, "--dry-run"]);
        Assert.Equal(("tried", 30, 49, 181, 263), (Status(tried), Number(tried, "contracts"), Number(tried, "payments"), Number(tried, "deemed"), Number(tried, "events")));
        Assert.Equal(1, await EventsAsync(database));

        var taken = await TakeAsync(database, Book);
        Assert.Equal(("recorded", 263, 60), (Status(taken), Number(taken, "events"), Number(taken, "figuresCompared")));
        Assert.All(taken["totals"]!.AsArray(), total => Assert.Equal((string)total!["theirs"]!, (string)total["ours"]!));
        Assert.Equal(264, await EventsAsync(database));

        // On the day of the totals, as known before: nothing; as known now: the shop's own figures, from the files it kept.
        Assert.Equal(1, (await Shell.ContractsAsync(database, "account", "FB-106", "--on", "2026-10-31", "--known", "2026-11-01")).Exit);
        var behind = JsonNode.Parse((await Shell.ContractsAsync(database, "account", "FB-106", "--on", "2026-10-31")).Output)!;
        Assert.Equal(("active", "467.50", "116.24", 7), ((string)behind["status"]!, (string)behind["equity"]!, (string)behind["pastDue"]!, (int)behind["takenOver"]!["line"]!));
        await using (var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true)))
        {
            Assert.Equal(("active", "0.00"), await FigureAsync(store, "FB-106", new LocalDate(2026, 9, 27), account => account.PastDue));
            Assert.Equal(("signed", "0.00"), await FigureAsync(store, "FB-101", new LocalDate(2025, 9, 4), account => account.Equity));
            Assert.Equal(("active", "150.00"), await FigureAsync(store, "FB-110", new LocalDate(2026, 5, 1), account => account.Equity));
            Assert.Equal(("returned", "180.00"), await FigureAsync(store, "FB-110", new LocalDate(2026, 10, 31), account => account.Paid.Rent));
            Assert.Equal(("owned", "465.50"), await FigureAsync(store, "FB-115", new LocalDate(2026, 6, 9), account => account.Paid.Purchase));
        }

        var history = JsonNode.Parse((await Shell.ContractsAsync(database, "history", "FB-113", "--kind", "deemed")).Output)!.AsArray();
        Assert.Equal(9, history.Count);
        Assert.All(history, one => Assert.Equal((true, "contracts", 14, "2026-11-02T14:00:00Z"), (
            (bool)one!["takenOver"]!["deemed"]!, (string)one["takenOver"]!["file"]!, (int)one["takenOver"]!["line"]!, (string)one["recordedAt"]!)));
        Assert.Equal(30, JsonNode.Parse((await Shell.ContractsAsync(database, "accounts", "--on", "2026-10-31", "--where", "met=taken-over")).Output)!.AsArray().Count);

        // The same files a second time: nothing, whoever sends them.
        var again = await Shell.ContractsAsync(database, ["take-over", .. Book[..^1], "somebody else", "--format", "table"]);
        Assert.Equal(0, again.Exit);
        Assert.Contains("taken over before, nothing was changed", again.Output, StringComparison.Ordinal);
        Assert.Equal(264, await EventsAsync(database));
        // An extract for strangers replays the same; the name of the book is none of it.
        var extract = await FileAsync("");
        var extracted = await Shell.ContractsAsync(database, "extract", "FB-113", "--out", extract);
        Assert.True(extracted.Exit == 0, extracted.Error);
        Assert.DoesNotContain("fernhollow", await File.ReadAllTextAsync(extract, TestContext.Current.CancellationToken), StringComparison.Ordinal);
        var check = await Shell.ContractsAsync(database, "check");
        Assert.True(check.Exit == 0, check.Output + check.Error);
    }

    [Fact]
    public async Task A_book_that_does_not_come_to_its_totals_or_breaks_a_rule_leaves_no_trace()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        await store.ApplyAsync(Tax, Lines.Sign("C-1", "S-1", at: "2026-11-02T12:00:00Z"));
        var before = await EventsAsync(database);
        var (line, second) = (Line.Replace("S-1", "S-2", StringComparison.Ordinal), Line.Replace("S-1", "S-2", StringComparison.Ordinal).Replace("B-1", "B-2", StringComparison.Ordinal));

        await RefusedAsync(line, """{"asOf":"2026-10-31","equity":"119.99"}""", RefusalCode.BookDoesNotReconcile, "equity on 2026-10-31: the shop's total is 119.99, the book comes to 120.00, 0.01 more.");
        await RefusedAsync(line.Replace(",120.00", ",120.01", StringComparison.Ordinal), Totals, RefusalCode.BookDoesNotReconcile, "Contracts, line 2, Equity: the book says 120.01 of B-1");
        // The unit is out already: on a contract of the store, or on another open contract of the book.
        await RefusedAsync(Line, Totals, RefusalCode.InstrumentOnOpenContract, "Contracts, line 2, Serial: The instrument 'S-1' is on the open contract C-1.");
        await RefusedAsync(line + second, Totals, RefusalCode.InstrumentOnOpenContract, "Contracts, line 3, Serial: The instrument 'S-2' is on the open contract B-1.");
        await RefusedAsync(Line.Replace("B-1", "C-1", StringComparison.Ordinal), Totals, RefusalCode.ContractAlreadySigned, "Contracts, line 2, No: ");
        await RefusedAsync(line, Totals, RefusalCode.JurisdictionUnknown, "Contracts, line 2, jurisdiction: ", Mapping.Replace("\"J\"", "\"K\"", StringComparison.Ordinal));
        await RefusedAsync(line, Totals.Replace("10-31", "11-30", StringComparison.Ordinal), RefusalCode.BookMappingInvalid, "the day is not over yet");

        // At the terminal: one problem on standard error, every fault in the answer, exit code 1.
        var bad = await FileAsync(InventedBook.Header + line.Replace("05/05/2026", "05/05/26", StringComparison.Ordinal).Replace("300.00", "300.005", StringComparison.Ordinal));
        var answer = await Shell.ContractsAsync(database, "take-over", bad, "--mapping", await FileAsync(Mapping), "--totals", await FileAsync(Totals), "--simulated-clock");
        Assert.Equal(1, answer.Exit);
        var problem = JsonNode.Parse(answer.Error.Split('\n').First(text => text.StartsWith('{')))!;
        Assert.Equal(("book-unreadable", 211, 400), ((string)problem["code"]!, (int)problem["number"]!, (int)problem["status"]!));
        var told = JsonNode.Parse(answer.Output)!;
        Assert.Equal("refused", Status(told));
        Assert.Equal([(2, "Signed"), (2, "Price")], told["refused"]!.AsArray().Select(fault => ((int)fault!["line"]!, (string)fault["column"]!)));

        Assert.Equal(before, await EventsAsync(database));
        Assert.Equal(0, await CountAsync(database, "select count(*) from contracts.command_keys where starts_with(key, 'taken-over:')"));

        async Task RefusedAsync(string lines, string totals, RefusalCode code, string says, string? mapping = null)
        {
            var reading = Good(InventedBook.Header + lines, mapping, totals);
            var refusal = (await store.BookIntake.TakeAsync(reading.Book!, reading.Totals, false, null, TestContext.Current.CancellationToken)).Refusal!;
            Assert.Equal(code, refusal.Code);
            Assert.Contains(says, refusal.Detail, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_book_broken_off_half_way_leaves_nothing_and_the_same_command_completes_it()
    {
        await using var store = await server.NewStoreAsync();
        await store.ApplyAsync(Tax);
        var book = Good(
            InventedBook.Header + Line + Line.Replace("B-1", "B-2", StringComparison.Ordinal).Replace("S-1", "S-2", StringComparison.Ordinal), totals: """{"asOf":"2026-10-31","equity":"240.00"}""");
        var decided = 0;
        await Assert.ThrowsAsync<InvalidOperationException>(() => store.BookIntake.TakeAsync(
            book.Book!, book.Totals, false, _ => { if (++decided == 2) { throw new InvalidOperationException("killed"); } }, TestContext.Current.CancellationToken));
        Assert.Equal(1, await EventsAsync(store.Connection.Everyday));
        var taken = await store.BookIntake.TakeAsync(book.Book!, book.Totals, false, null, TestContext.Current.CancellationToken);
        Assert.Equal(10, taken.Events);
        // Two at once, and once more: one of them records it, nobody twice.
        var again = await Task.WhenAll(Enumerable.Range(0, 3).Select(_ => store.BookIntake.TakeAsync(book.Book!, book.Totals, false, null, CancellationToken.None)));
        Assert.All(again, outcome => Assert.True(outcome.Already));
        Assert.Equal(11, await EventsAsync(store.Connection.Everyday));
    }

    [Fact]
    public async Task A_book_of_the_same_name_with_other_content_is_refused_and_of_another_name_comes_in()
    {
        await using var store = await server.NewStoreAsync();
        await store.ApplyAsync(Tax);
        await TakeAsync(store, InventedBook.Header + Line, Mapping);
        var other = InventedBook.Header + Line.Replace("B-1", "B-2", StringComparison.Ordinal).Replace("S-1", "S-2", StringComparison.Ordinal);
        Assert.Equal((RefusalCode.BookAlreadyTakenOver, "book"), (await TakeAsync(store, other, Mapping)).Refusal is { } refused ? (refused.Code, refused.Field) : default);
        Assert.Null((await TakeAsync(store, other, Mapping.Replace("small-book", "small-book-2", StringComparison.Ordinal))).Refusal);
        Assert.NotNull(await store.Reader.HistoryAsync("B-2", Instant.MaxValue));
    }

    [Fact]
    public async Task A_key_of_a_book_cannot_be_sent_from_a_command_file()
    {
        var database = await server.NewDatabaseAsync();
        var file = await FileAsync(Lines.Tax.Replace("\"tax\"", "\"taken-over:small-book:0123456789abcdef:c2\"", StringComparison.Ordinal));
        var answer = await Shell.ContractsAsync(database, "load", file, "--simulated-clock");
        Assert.Equal(1, answer.Exit);
        Assert.Contains("'taken-over:' are made by the program itself", answer.Output, StringComparison.Ordinal);
    }

    private static async Task<Contracts.Store.TakeOver.TakeOverOutcome> TakeAsync(ContractsStore store, string contracts, string mapping)
    {
        var reading = Good(contracts, mapping);
        return await store.BookIntake.TakeAsync(reading.Book!, reading.Totals, false, null, TestContext.Current.CancellationToken);
    }

    private static async Task<JsonNode> TakeAsync(string database, string[] arguments)
    {
        var answer = await Shell.ContractsAsync(database, ["take-over", .. arguments]);
        Assert.True(answer.Exit == 0, answer.Output + answer.Error);
        return JsonNode.Parse(answer.Output)!;
    }

    private static async Task<(string Status, string Figure)> FigureAsync(ContractsStore store, string contract, LocalDate on, Func<Account, Money> figure)
    {
        var rates = await store.Reader.RatesAsync(Instant.MaxValue);
        var account = Account.Of(AccountFold.At((await store.Reader.HistoryAsync(contract, Instant.MaxValue))!, rates, on)!, Instant.MaxValue);
        return (account.Status, figure(account).ToString());
    }

    private static string Status(JsonNode answer) => (string)answer["status"]!;

    private static int Number(JsonNode answer, string name) => (int)answer[name]!;

    private static Task<long> EventsAsync(string database) => CountAsync(database, "select count(*) from contracts.mt_events");

    private static async Task<long> CountAsync(string database, string sql)
    {
        await using var source = NpgsqlDataSource.Create(database);
        await using var command = source.CreateCommand(sql);
        return (long)(await command.ExecuteScalarAsync())!;
    }
}
