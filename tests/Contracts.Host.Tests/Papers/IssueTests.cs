using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Host.Papers;
using Contracts.Host.Tests.Support;
using Contracts.Papers;
using Contracts.Store;
using Contracts.Store.Papers;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Papers;

/// <summary>Issuing and making again, on a real PostgreSQL.</summary>
public sealed class IssueTests(Server server)
{
    [Fact]
    public async Task A_hundred_later_facts_change_no_byte_of_any_paper()
    {
        await using var store = await OpenAsync();
        foreach (var result in await store.ApplyAsync(InventedLife.Lines)) { Assert.IsType<CommandResult.Applied>(result); }
        var before = await AllAsync(store);
        var later = new List<string>();
        for (var number = 0; number < 100; number++)
        {
            var at = $"2027-05-{1 + (number / 10):00}T12:{number % 60:00}:00Z";
            later.Add(number % 10 == 9
                ? $$"""{"do":"set-tax","key":"late-{{number}}","at":"{{at}}","jurisdiction":"wexmoor","rate":"0.09","from":"2027-06-{{1 + (number / 10):00}}","taxes":{"rent":true} }"""
                : $$"""{"do":"pay","key":"late-{{number}}","at":"{{at}}","contract":"P-1","on":"2026-{{9 + (number % 4):00}}-{{10 + (number % 15):00}}","amount":"3.{{number % 10}}0","method":"cash"}""");
        }

        foreach (var result in await store.ApplyAsync([.. later.Order(StringComparer.Ordinal).OrderBy(line => (string)JsonNode.Parse(line)!["at"]!, StringComparer.Ordinal)]))
        {
            Assert.IsType<CommandResult.Applied>(result);
        }

        var after = await AllAsync(store);
        Assert.Equal(11, after.Count);
        foreach (var (id, paper) in after)
        {
            Assert.Empty(paper.Differs);
            Assert.Equal(before[id].Printed!.Bytes, paper.Printed!.Bytes);
            Assert.Equal(before[id].Data, paper.Data);
            Assert.Equal(paper.Issued.Event.Digest, PaperJson.Digest(paper.Printed.Bytes));
        }
    }

    [Fact]
    public async Task Papers_in_one_moment_know_what_was_recorded_before_them_and_nothing_after()
    {
        await using var store = await OpenAsync();
        const string at = "2026-09-02T12:00:00Z";
        await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"));
        // All in one transaction and one instant: an offer looks ahead to the 9 % of October only after they were set.
        foreach (var result in await store.ApplyAsync(
            Issue("C-1", "one", at, "early-purchase", "2026-09-02"),
            Lines.Pay("C-1", "p", "21.60", at),
            Issue("C-1", "two", at, "receipt", "2026-09-02", "p"),
            Lines.Pay("C-1", "ahead", "10.00", at, on: "2026-09-25"),
            $$"""{"do":"set-tax","key":"nine","at":"{{at}}","jurisdiction":"J","rate":"0.09","from":"2026-09-20","taxes":{"rent":true,"sale":true} }""",
            Issue("C-1", "three", at, "early-purchase", "2026-09-02"),
            Issue("C-1", "four", at, "receipt", "2026-09-25", "ahead"),
            Lines.Pay("C-1", "q", "10.00", at)))
        {
            Assert.IsType<CommandResult.Applied>(result);
        }

        var papers = await AllAsync(store, "C-1");
        Assert.All(papers.Values, paper => Assert.Empty(paper.Differs));
        var (one, two, three) = (Data(papers["one"]), Data(papers["two"]), Data(papers["three"]));
        Assert.Equal(("0.00", "20.00"), ((string)one["figures"]!["paid"]!["total"]!, (string)two["figures"]!["paid"]!["rent"]!));
        Assert.Equal("0.00", (string)two["figures"]!["unappliedCredit"]!);
        // Left 280.00, a quarter off: 210.00; on 20 September its tax rises from 16.80 to 18.90, before anything falls due.
        Assert.Equal(("2026-09-19", "228.90"), ((string)three["offer"]!["holdsThrough"]!, (string)three["offer"]!["nextPayoff"]!));
        // The 9 % were set after the payment of 25 September was recorded, so its receipt does not know them.
        Assert.Equal("16.80", (string)Data(papers["four"])["figures"]!["earlyPurchase"]!["tax"]!);
        Assert.NotEqual((string)one["offer"]!["nextPayoff"]!, (string)three["offer"]!["nextPayoff"]!);
    }

    [Fact]
    public async Task A_receipt_issued_later_keeps_to_the_rates_known_at_its_payment()
    {
        await using var store = await OpenAsync();
        await store.ApplyAsync(
            Lines.Tax, Lines.Sign("C-1", "S-1"), Lines.Pay("C-1", "p", "21.60", "2026-09-02T12:00:00Z", on: "2026-09-20"),
            """{"do":"set-tax","key":"nine","at":"2026-09-03T12:00:00Z","jurisdiction":"J","rate":"0.09","from":"2026-09-10","taxes":{"rent":true,"sale":true}}""");
        await store.ApplyAsync(Issue("C-1", "r", "2026-09-25T12:00:00Z", "receipt", "2026-09-20", "p"));
        var paper = (await store.Papers.MakeAgainAsync("r", TestContext.Current.CancellationToken))!;
        Assert.Empty(paper.Differs);
        // 280.00 x 0.75 = 210.00 at 8 %.
        Assert.Equal("16.80", (string)Data(paper)["figures"]!["earlyPurchase"]!["tax"]!);
    }

    [Fact]
    public async Task What_has_changed_is_named_template_or_data()
    {
        var database = await server.NewDatabaseAsync();
        await using (var store = await OpenAsync(database)) { await store.ApplyAsync(InventedLife.Lines); }
        var other = new PaperPress(TemplateSet.Embedded().Select(set => set.With("statement", "<p>Other words.</p>\n")));
        await using (var store = await OpenAsync(database, other.PrintOne))
        {
            var papers = await AllAsync(store);
            Assert.Equal(["template: statement.2 is not what it was"], papers["d-statement"].Differs);
            Assert.All(papers.Where(paper => paper.Key != "d-statement"), paper => Assert.Empty(paper.Value.Differs));
        }

        // The next version beside the old one: what was issued with the old one is made with it, what is new with the new one.
        var today = TemplateSet.Embedded().MaxBy(set => set.Version)!;
        var next = new TemplateSet(today.Version + 1, Files(today).Append(new("statement", "<p>Other words.</p>\n")));
        var both = new PaperPress([.. TemplateSet.Embedded(), next]);
        await using (var store = await OpenAsync(database, both.PrintOne))
        {
            Assert.All((await AllAsync(store)).Values, paper => Assert.Empty(paper.Differs));
            await store.ApplyAsync(Issue("P-1", "new", "2027-05-01T12:00:00Z", "statement", "2027-05-01"));
            Assert.Equal($"statement.{next.Version}", (await store.Papers.MakeAgainAsync("new", TestContext.Current.CancellationToken))!.Issued.Event.Template);
        }

        await Server.RunAsync(server.Owner.Replace("Database=postgres", "", StringComparison.Ordinal) + ";" + DatabaseOf(database), """
            update contracts.mt_events set data = jsonb_set(data, '{amount}', '"80.01"') where headers->>'key' = 'p-1'
            """);
        await using (var store = await OpenAsync(database))
        {
            Assert.StartsWith("data: ", (await AllAsync(store))["d-receipt-1"].Differs[0], StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_paper_that_cannot_be_printed_is_not_issued_and_the_rest_goes_on()
    {
        var broken = new PaperPress(TemplateSet.Embedded().Select(set => set.With("receipt", "{{ figures.nothing }}")));
        await using var store = await OpenAsync(press: broken.PrintOne);
        const string at = "2026-09-02T12:00:00Z";
        var results = await store.ApplyAsync(
            Lines.Tax, Lines.Sign("C-1", "S-1"), Lines.Pay("C-1", "p", "21.60", at),
            Issue("C-1", "r", at, "receipt", "2026-09-02", "p"), Issue("C-1", "s", at, "statement", "2026-09-02"));
        Assert.Equal(RefusalCode.PaperNotMade, Assert.IsType<CommandResult.Refused>(results[3]).Refusal.Code);
        Assert.IsType<CommandResult.Applied>(results[4]);
        Assert.Equal(["s"], (await AllAsync(store, "C-1")).Keys);
        Assert.Null(await store.Papers.MakeAgainAsync("r", TestContext.Current.CancellationToken));
    }

    [Fact]
    public async Task A_store_without_a_press_issues_nothing()
    {
        await using var store = await server.NewStoreAsync();
        var results = await store.ApplyAsync(Lines.Tax, Lines.Sign("C-1", "S-1"), Issue("C-1", "s", "2026-09-02T12:00:00Z", "statement", "2026-09-02"));
        Assert.Equal(RefusalCode.PaperNotMade, Assert.IsType<CommandResult.Refused>(results[2]).Refusal.Code);
    }

    private async Task<ContractsStore> OpenAsync(string? database = null, Press? press = null) =>
        await ContractsStore.OpenAsync(database ?? await server.NewDatabaseAsync(), new StoreSettings(Server.Zone, true, press ?? PaperPress.Print));

    private static string DatabaseOf(string connection) =>
        $"Database={new Npgsql.NpgsqlConnectionStringBuilder(connection).Database}";

    private static async Task<SortedDictionary<string, PaperAgain>> AllAsync(ContractsStore store, string contract = InventedLife.Contract)
    {
        var papers = new SortedDictionary<string, PaperAgain>(StringComparer.Ordinal);
        var history = await store.Reader.HistoryAsync(contract, Instant.FromUtc(2100, 1, 1, 0, 0));
        foreach (var issued in PaperArchive.Of(history!)) { papers[issued.Id] = (await store.Papers.MakeAgainAsync(issued.Id))!; }
        return papers;
    }

    private static IEnumerable<KeyValuePair<string, string>> Files(TemplateSet set) =>
        new[] { "_layout", "_style", "_figures", "_terms", "_payments", "_accessories" }.Select(name => new KeyValuePair<string, string>(name, set[name]));

    private static JsonNode Data(PaperAgain paper) => JsonNode.Parse(Encoding.UTF8.GetString(paper.Data!))!;

    private static string Issue(string contract, string key, string at, string kind, string on, string? subject = null) =>
        $$"""{"do":"issue","key":"{{key}}","at":"{{at}}","contract":"{{contract}}","on":"{{on}}","kind":"{{kind}}"{{(subject is null ? "" : $",\"for\":\"{subject}\"")}}}""";
}
