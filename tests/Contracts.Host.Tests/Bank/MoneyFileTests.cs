using System.Net;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Host.Bank;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Serving.Pages;
using Contracts.Host.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Bank;

/// <summary>Money files end to end on PostgreSQL: over the API, on the page and on the command line.</summary>
public sealed class MoneyFileTests(Server server)
{
    private const string At = "2026-09-20T12:00:00Z";
    private const string Mapping = """{"name":"bank","account":"000771204821","columns":{"bookedOn":"Posted","reference":"Reference","amount":"Amount","text":["Text"],"returnCode":"Code"}}""";

    private const string Lines =
        "2026-09-18,R-1,20.00,rent C-1,\\n2026-09-18,R-2,5.00,thank you (Ash Invented),\\n2026-09-18,R-3,-20.00,back: C-2,R01\\n2026-09-18,R-4,-3.00,fee,\\n2026-09-18,R-5,20.00,till-9,\\n";

    [Fact]
    public async Task Each_line_ends_in_one_of_three_and_a_second_reading_changes_nothing()
    {
        await using var running = await ShopAsync();
        var first = await ReadAsync(running, Body(Lines));
        Assert.Equal((3, 0, 2, 0), Count(first));
        Assert.Contains(((await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!).Entries, one => one.Event is ContractEvent.PaymentReceived { Method: "bank", Reference: "R-1" });
        var back = (await running.Store.Reader.HistoryAsync("C-2", Instant.MaxValue))!.Entries.Single(one => one.Event is ContractEvent.PaymentReversed);
        Assert.Equal(("p-2", "R01"), (((ContractEvent.PaymentReversed)back.Event).Payment, ((ContractEvent.PaymentReversed)back.Event).Code));
        // The counter had recorded the fifth; it arrives and is not paid twice.
        Assert.Single((await running.Store.Reader.HistoryAsync("C-3", Instant.MaxValue))!.Entries, one => one.Event is ContractEvent.PaymentReceived);

        var events = await EventsAsync(running);
        Assert.Equal((0, 0, 0, 5), Count(await ReadAsync(running, Body(Lines))));
        Assert.Equal(events, await EventsAsync(running));
        // Another file with the same lines and one more: what is known is known.
        Assert.Equal((1, 0, 0, 5), Count(await ReadAsync(running, Body(Lines + "2026-09-19,R-6,1.00,C-1,\\n"))));
    }

    [Fact]
    public async Task A_familys_check_over_two_contracts_that_comes_back_is_taken_back_on_both()
    {
        await using var running = await ShopAsync();
        await running.AppliedAsync("counter", """
            {"do":"pay-household","key":"k-1","at":"2026-09-17T12:30:00Z","household":"H","on":"2026-09-17","amount":"12.50","method":"check","reference":"CHK-88",
             "shares":[{"contract":"C-1","amount":"7.50"},{"contract":"C-2","amount":"5.00"}]}
            """.ReplaceLineEndings(" "));
        var file = Body("2026-09-18,R-8,-12.50,unpaid CHK-88,R01\\n");
        var read = await ReadAsync(running, file);
        Assert.Equal((1, 0, 0, 0), Count(read));
        foreach (var (contract, share) in new[] { ("C-1", "share:k-1:1"), ("C-2", "share:k-1:2") })
        {
            var back = (await running.Store.Reader.HistoryAsync(contract, Instant.MaxValue))!.Entries.Single(one => one.Event is ContractEvent.PaymentReversed);
            Assert.Equal((share, "R01"), (((ContractEvent.PaymentReversed)back.Event).Payment, ((ContractEvent.PaymentReversed)back.Event).Code));
        }

        var line = JsonNode.Parse((await running.GetAsync("finance", $"/v1/money-files/lines?file={read["file"]}")).Text)!.AsArray().Single()!;
        Assert.Equal("matched", (string)line["status"]!);
        Assert.Contains("waive what is too much", line.ToJsonString(), StringComparison.Ordinal);
        Assert.Equal((0, 0, 0, 1), Count(await ReadAsync(running, file)));
        var check = await Shell.ContractsAsync(running.Database, "check");
        Assert.True(check.Exit == 0, check.Output + check.Error);
    }

    [Fact]
    public async Task A_file_that_does_not_add_up_leaves_no_trace()
    {
        await using var running = await ShopAsync();
        var events = await EventsAsync(running);
        var body = """{"name":"b.csv","text":"Posted,Reference,Amount,Text,Balance\n2026-09-18,R-1,20.00,C-1,120.00\n2026-09-18,R-2,20.00,C-2,141.00\n","mapping":MAP}"""
            .Replace("MAP", Mapping.Replace("\"returnCode\":\"Code\"", "\"balance\":\"Balance\"", StringComparison.Ordinal), StringComparison.Ordinal);
        (await running.PostAsync("finance", "/v1/money-files/read", body)).IsProblem(422, "money-file-does-not-add-up");
        Assert.Equal(events, await EventsAsync(running));
        Assert.Equal("[]\n", (await running.GetAsync("finance", "/v1/money-files")).Text);
    }

    [Fact]
    public async Task A_crash_between_two_batches_is_made_good_by_reading_again()
    {
        await using var running = await ShopAsync();
        var path = Path.GetTempFileName();
        // Every ninth line names a contract; no two of one contract have the same amount, which would be a question.
        var lines = Enumerable.Range(0, 4500).Select(index => $"2026-09-18,N-{index},{1 + (index / 27) / 100m:0.00},{(index % 9 == 0 ? $"C-{1 + (index / 9 % 3)}" : "a customer")},\n");
        await File.WriteAllTextAsync(path, "Posted,Reference,Amount,Text,Code\n" + string.Concat(lines), TestContext.Current.CancellationToken);
        var file = new MoneyFile(path, "many.csv", CsvMapping.Read(System.Text.Encoding.UTF8.GetBytes(Mapping)).Mapping);
        var batches = 0;
        await Assert.ThrowsAsync<InvalidOperationException>(() => MoneyFiles.TakeAsync(
            running.Store, file, "Fay", _ => { if (++batches == 2) { throw new InvalidOperationException("killed"); } }, CancellationToken.None));
        var outcome = await MoneyFiles.TakeAsync(running.Store, file, "Fay", null, CancellationToken.None);
        Assert.Equal((55, 445, 4000), (outcome.Count.Matched, outcome.Count.Unmatched, outcome.Count.Already));
        var paid = 0;
        foreach (var contract in new[] { "C-1", "C-2", "C-3" }) { paid += (await running.Store.Reader.HistoryAsync(contract, Instant.MaxValue))!.Entries.Count(one => one.Event is ContractEvent.PaymentReceived { Method: "bank" }); }
        Assert.Equal(500, paid);
    }

    [Fact]
    public async Task What_waits_is_settled_by_shares_once_and_what_was_written_with_it_goes()
    {
        await using var running = await ShopAsync();
        await ReadAsync(running, Body(Lines));
        var waiting = JsonNode.Parse((await running.GetAsync("finance", "/v1/money-files/lines")).Text)!.AsArray();
        var entry = (string)waiting[0]!["entry"]!;
        Assert.Equal("thank you (Ash Invented)", (string?)waiting[0]!["text"]);
        (await running.PostAsync("support", "/v1/commands", Settle(entry, "k-0", """{"contract":"C-1","amount":"5.00"}"""))).IsProblem(403, "role-forbids");
        (await running.PostAsync("finance", "/v1/commands", Settle(entry, "k-1", """{"contract":"C-1","amount":"4.00"}"""))).IsProblem(422, "entry-shares-differ");
        (await running.PostAsync("finance", "/v1/commands", Settle("B-0", "k-2", """{"contract":"C-1","amount":"4.00"}"""))).IsProblem(404, "entry-unknown");
        // One share that is refused refuses all of them.
        (await running.PostAsync("finance", "/v1/commands", Settle(entry, "k-3", """{"contract":"C-1","amount":"4.00"},{"contract":"C-77","amount":"1.00"}"""))).IsProblem(404, "contract-unknown");
        Assert.DoesNotContain((await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries, one => one.Event is ContractEvent.PaymentReceived { Amount.Cents: 400 });
        var answers = await Task.WhenAll(Enumerable.Range(0, 10).Select(index => running.PostAsync(
            "finance", "/v1/commands", Settle(entry, $"s-{index}", """{"contract":"C-1","amount":"4.00"},{"contract":"C-2","amount":"1.00"}"""))));
        Assert.Single(answers, answer => answer.Status == HttpStatusCode.OK);
        Assert.All(answers.Where(answer => answer.Status != HttpStatusCode.OK), answer => answer.IsProblem(409, "entry-settled"));
        Assert.DoesNotContain("Ash Invented", (await running.GetAsync("finance", "/v1/money-files/lines?status=all")).Text, StringComparison.Ordinal);
        var stored = await CountAsync(running.Store.Connection.Everyday, "select count(*) from contracts.waiting_texts where entry = '" + entry + "'");
        Assert.Equal(0, stored);
        Assert.Equal(0, await CountAsync(running.Store.Connection.Everyday, "select count(*) from contracts.mt_events where data::text like '%Ash%'"));
    }

    [Fact]
    public async Task The_command_line_says_the_same_and_the_page_decides()
    {
        await using var running = await ShopAsync();
        await ReadAsync(running, Body(Lines));
        Assert.Equal((await running.GetAsync("finance", "/v1/money-files/lines")).Text, (await Shell.ContractsAsync(running.Database, "bank", "show", "--format", "json")).Output);
        Assert.Equal((await running.GetAsync("auditor", "/v1/money-files")).Text, (await Shell.ContractsAsync(running.Database, "bank", "files", "--format", "json")).Output);
        var page = (await running.GetAsync("finance", "/money-files")).Text;
        Assert.Contains("thank you (Ash Invented)", page, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Forbidden, (await running.GetAsync("counter", "/money-files")).Status);
        Assert.DoesNotContain("Set aside", (await running.GetAsync("auditor", "/money-files")).Text, StringComparison.Ordinal);
        var waiting = JsonNode.Parse((await running.GetAsync("finance", "/v1/money-files/lines")).Text)!.AsArray();
        var (first, second) = ((string)waiting[0]!["entry"]!, (string)waiting[1]!["entry"]!);
        var wrong = await PageForms.PostAsync(running, "finance", "/money-files", [new("what", "settle"), new("entry", first), new("contract1", "C-1"), new("amount1", "1.00")]);
        Assert.Equal(HttpStatusCode.UnprocessableEntity, wrong.Status);
        Assert.Contains("entry-shares-differ", wrong.Text, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Found, (await PageForms.PostAsync(running, "finance", "/money-files", [new("what", "settle"), new("entry", first), new("contract1", "C-1"), new("amount1", "5.00")])).Status);
        Assert.Equal(HttpStatusCode.Found, (await PageForms.PostAsync(running, "finance", "/money-files", [new("what", "aside"), new("entry", second), new("reason", "a fee of the bank")])).Status);
        Assert.Contains("Nothing waits.", (await running.GetAsync("finance", "/money-files")).Text, StringComparison.Ordinal);
        Assert.Equal("[]\n", (await Shell.ContractsAsync(running.Database, "bank", "show", "--format", "json")).Output);
        var check = await Shell.ContractsAsync(running.Database, "check");
        Assert.True(check.Exit == 0, check.Output + check.Error);
    }

    [Fact]
    public async Task The_fifth_of_a_card_batch_and_a_payment_recorded_before_are_settled_for_what_was_paid()
    {
        await using var running = await ShopAsync();
        const string map = """{"name":"cards","account":"CARDS","method":"card","columns":{"bookedOn":"Day","reference":"Batch","amount":"Net","gross":"Gross","fee":"Fee","text":["Text"]}}""";
        var body = """{"name":"cards.csv","text":"Day,Batch,Net,Gross,Fee,Text\n2026-09-18,B-1,19.40,20.00,0.60,a customer\n2026-09-18,B-2,19.40,20.00,0.60,C-2\n","mapping":MAP}""".Replace("MAP", map, StringComparison.Ordinal);
        Assert.Equal((0, 1, 1, 0), Count(await ReadAsync(running, body)));
        var waiting = JsonNode.Parse((await running.GetAsync("finance", "/v1/money-files/lines")).Text)!.AsArray();
        var (unknown, twin) = ((string)waiting[0]!["entry"]!, (string)waiting[1]!["entry"]!);
        Assert.Equal(["C-2", "C-2"], waiting[1]!["candidates"]!.AsArray().Select(one => (string)one!["contract"]!));
        (await running.PostAsync("finance", "/v1/commands", Settle(unknown, "k-1", """{"contract":"C-1","amount":"19.40"}"""))).IsProblem(422, "entry-shares-differ");
        await running.AppliedAsync(Settle(unknown, "k-2", """{"contract":"C-1","amount":"20.00"}"""));
        // The second is the counter's own payment: on the page it is named, and nothing is paid anew.
        Assert.Contains("It is the payment p-2, recorded already", (await running.GetAsync("finance", "/money-files")).Text, StringComparison.Ordinal);
        var answer = await PageForms.PostAsync(running, "finance", "/money-files", [new("what", "settle"), new("entry", twin), new("contract", "C-2"), new("payment", "p-2")]);
        Assert.True(answer.Status == HttpStatusCode.Found, answer.Text);
        Assert.Single((await running.Store.Reader.HistoryAsync("C-2", Instant.MaxValue))!.Entries, one => one.Event is ContractEvent.PaymentReceived);
        Assert.Single((await running.Store.Reader.HistoryAsync("C-1", Instant.MaxValue))!.Entries, one => one.Event is ContractEvent.PaymentReceived { Amount.Cents: 2000 });
        // Another line of the amount is still a question: it may be the same money, told twice.
        var again = body.Replace("B-2", "B-3", StringComparison.Ordinal);
        Assert.Equal((0, 1, 0, 1), Count(await ReadAsync(running, again)));
        // What a person saw arrive does not arrive again, though a line names it.
        var named = """{"name":"more.csv","text":"Day,Batch,Net,Gross,Fee,Text\n2026-09-19,p-2,19.40,20.00,0.60,a customer\n","mapping":MAP}""".Replace("MAP", map, StringComparison.Ordinal);
        Assert.Equal(0, (int)(await ReadAsync(running, named))["matched"]!);
    }

    [Theory]
    [InlineData("bank:B-1")]
    [InlineData("money-line:x")]
    [InlineData("money-file:x")]
    [InlineData("day:x")]
    [InlineData("taken-over:x")]
    public async Task A_key_that_the_program_makes_is_taken_from_nobody(string key)
    {
        await using var running = await ShopAsync();
        var pay = Support.Lines.Pay("C-1", key, "20.00", "2026-09-20T12:00:00Z");
        foreach (var path in new[] { "/v1/commands", "/v1/commands/queue" })
        {
            (await running.PostAsync("counter", path, pay)).IsProblem(400, "field-invalid");
            (await running.SendAsync("counter", HttpMethod.Post, path, pay.Replace($"\"key\":\"{key}\",", "", StringComparison.Ordinal), ("Idempotency-Key", key))).IsProblem(400, "field-invalid");
        }
    }

    private static string Body(string lines) => """{"name":"bank.csv","text":"Posted,Reference,Amount,Text,Code\nLINES","mapping":MAP}""".Replace("LINES", lines, StringComparison.Ordinal).Replace("MAP", Mapping, StringComparison.Ordinal);

    private static string Settle(string entry, string key, string shares) => $$"""{"do":"settle-entry","key":"{{key}}","at":"{{At}}","entry":"{{entry}}","shares":[{{shares}}]}""";

    private static (int, int, int, int) Count(JsonNode answer) => ((int)answer["matched"]!, (int)answer["proposed"]!, (int)answer["unmatched"]!, (int)answer["already"]!);

    private static async Task<JsonNode> ReadAsync(RunningApi running, string body)
    {
        var answer = await running.PostAsync("finance", "/v1/money-files/read", body);
        Assert.True(answer.Status == HttpStatusCode.OK, answer.Text);
        return JsonNode.Parse(answer.Text)!;
    }

    private static async Task<long> CountAsync(string connection, string sql)
    {
        await using var source = Npgsql.NpgsqlDataSource.Create(connection);
        await using var command = source.CreateCommand(sql);
        return (long)(await command.ExecuteScalarAsync())!;
    }

    private static Task<long> EventsAsync(RunningApi running) => CountAsync(running.Store.Connection.Everyday, "select count(*) from contracts.mt_events");

    private async Task<RunningApi> ShopAsync()
    {
        var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Support.Lines.Tax);
        for (var number = 1; number <= 3; number++) { await running.AppliedAsync(Support.Lines.Sign($"C-{number}", $"S-{number}")); }
        await running.AppliedAsync("""{"do":"pay","key":"p-2","at":"2026-09-17T12:00:00Z","contract":"C-2","on":"2026-09-17","amount":"20.00","method":"ach"}""");
        await running.AppliedAsync("""{"do":"pay","key":"p-3","at":"2026-09-17T12:00:00Z","contract":"C-3","on":"2026-09-17","amount":"20.00","method":"check","reference":"till-9"}""");
        return running;
    }
}
