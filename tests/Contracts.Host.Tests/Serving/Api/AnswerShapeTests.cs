using System.Net;
using System.Text.Json;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Tests.Jobs;
using Contracts.Host.Tests.Support;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>What the API document says of answers is what is answered.</summary>
public sealed class AnswerShapeTests(Server server)
{
    private const string MoneyFile =
        """{"name":"b.csv","text":"Posted,Reference,Amount,Fee,Gross,Text\n2027-06-14,R-1,1.00,0.00,1.00,C-1016\n2027-06-14,R-2,7.77,0.00,7.77,thanks\nbad\n","mapping":{"name":"m","account":"4","columns":{"bookedOn":"Posted","valueOn":"Posted","reference":"Reference","amount":"Amount","fee":"Fee","gross":"Gross","text":["Text"]}}}""";

    private const string Offer =
        """{"state":"OR","jurisdiction":"wexmoor-alder-ferry","startOn":"2026-10-05","instrument":{"kind":"clarinet","serial":"S-9"},"terms":{"cashPrice":"300.00","purchasePrice":"300.00","monthlyRent":"30.00","creditShare":"1.00","earlyPurchase":[{"discount":"0.25"}],"lateFee":{"amount":"5.00","graceDays":7}}}""";

    [Fact]
    public async Task Every_answer_of_the_demos_year_fits_the_schema_of_its_route()
    {
        await using var running = await RunningApi.StartAsync(server);
        var loaded = await Shell.ContractsAsync(
            running.Database, [("CONTRACTS_SIGNER", running.SignerFolder)], "load", Path.Combine(Golden.Root, "fixtures/demo/school-year.jsonl"), "--simulated-clock");
        Assert.True(loaded.Exit == 0, loaded.Error);
        await TakeOver.InventedBook.IntoAsync(running.Store, "wexmoor-alder-ferry");
        const string issue = """{"do":"issue","key":"paper/1","at":"2027-09-30T12:00:00Z","contract":"C-1042","on":"2027-06-15","kind":"statement"}""";
        using var document = JsonDocument.Parse((await running.GetAsync(null, "/openapi/v1.json")).Bytes);
        var check = new SchemaCheck(document.RootElement);
        var held = new HashSet<string>(StringComparer.Ordinal);

        await HoldAsync("POST", "/v1/commands", "/v1/commands", issue);
        await HoldAsync("POST", "/v1/commands", "/v1/commands", issue);
        await HoldAsync("POST", "/v1/commands/queue", "/v1/commands/queue", issue);
        await HoldAsync("POST", "/v1/commands/preview", "/v1/commands/preview", """{"do":"return","contract":"C-1016","on":"2027-06-15"}""");
        await HoldAsync("POST", "/v1/quotes", "/v1/quotes", Offer);
        await running.Store.SealerWith(running.Signer).SealAsync(anchor: false, TestContext.Current.CancellationToken);
        await HoldAsync("GET", "/v1/find", "/v1/find?q=C-10");
        using var accounts = JsonDocument.Parse((await HoldAsync("GET", "/v1/accounts", "/v1/accounts?limit=200"))!.Bytes);
        Assert.True(accounts.RootElement.GetArrayLength() > 40);
        foreach (var id in accounts.RootElement.EnumerateArray().Select(one => one.GetProperty("contract").GetString()))
        {
            await HoldAsync("GET", "/v1/accounts/{contract}", $"/v1/accounts/{id}?on=2027-06-15");
            await HoldAsync("GET", "/v1/accounts/{contract}/history", $"/v1/accounts/{id}/history");
            await HoldAsync("GET", "/v1/accounts/{contract}/events", $"/v1/accounts/{id}/events");
            await HoldAsync("GET", "/v1/accounts/{contract}/totals", $"/v1/accounts/{id}/totals?figure=paid.rent");
            await HoldAsync("GET", "/v1/accounts/{contract}/papers", $"/v1/accounts/{id}/papers");
            await HoldAsync("GET", "/v1/accounts/{contract}/statement", $"/v1/accounts/{id}/statement?through=2027-06-15");
        }

        await HoldAsync("GET", "/v1/accounts/{contract}/explain/{figure}", "/v1/accounts/C-1042/explain/earlyPurchase.payoff?on=2027-05-19");
        await HoldAsync("GET", "/v1/accounts/{contract}/compare", "/v1/accounts/C-1042/compare?on=2026-12-07&known=2026-12-07&withOn=2027-05-20");
        foreach (var supposed in new[]
        {
            """{"remove":"C-1042-007"}""", """{"redate":"C-1042-011","on":"2027-03-20"}""", """{"law":"HI.1"}""", """{"change":"C-1042-001","with":{"terms":{"lateFee":{"amount":"0.00","graceDays":7}}}}""",
            """{"add":{"do":"elect-plan","on":"2026-10-06","at":"2026-10-06T16:00:00Z"}}""",
        })
        {
            await HoldAsync("POST", "/v1/accounts/{contract}/what-if", "/v1/accounts/C-1042/what-if?on=2027-05-19", supposed);
        }

        using var stored = JsonDocument.Parse((await running.GetAsync("auditor", "/v1/accounts/C-1042/events")).Bytes);
        var household = stored.RootElement[0].GetProperty("data").GetProperty("household").GetString();
        await HoldAsync("GET", "/v1/households/{household}/statement", $"/v1/households/{household}/statement?through=2026-10-15&pay=0.01");
        await HoldAsync("GET", "/v1/proposals", "/v1/proposals");
        foreach (var fact in new[]
        {
            "\"do\":\"open-dispute\",\"claim\":\"paper\",\"says\":\"invented\",\"about\":\"paper/1\"", $"\"do\":\"attach-paper\",\"title\":\"t\",\"digest\":\"{new string('0', 64)}\"",
            "\"do\":\"answer-dispute\",\"finding\":\"upheld\",\"says\":\"s\"", "\"do\":\"close-dispute\",\"outcome\":\"settled\"",
        })
        {
            await running.AppliedAsync($$"""{"key":"{{Guid.NewGuid()}}","at":"2027-09-30T12:00:00Z","contract":"C-1042","on":"2027-09-30","dispute":"D-1",{{fact}}}""");
            await HoldAsync("GET", "/v1/disputes", "/v1/disputes?status=all&on=2027-09-30");
        }

        await HoldAsync("POST", "/v1/money-files/read", "/v1/money-files/read", MoneyFile);
        await HoldAsync("GET", "/v1/money-files", "/v1/money-files");
        await HoldAsync("GET", "/v1/money-files/lines", "/v1/money-files/lines?status=all");
        await HoldAsync("GET", "/v1/accounts/{contract}/papers/{paper}", "/v1/accounts/C-1042/papers/paper%2F1?format=json");
        await HoldAsync("GET", "/v1/portfolio", "/v1/portfolio?on=2026-12-07");
        await HoldAsync("GET", "/v1/reports/{report}/explain/{figure}", "/v1/reports/portfolio/explain/pastDue?on=2026-12-07&most=3");
        await HoldAsync("GET", "/v1/reports/{report}/explain/{figure}", "/v1/reports/books/explain/4000?on=2026-12-31");
        await HoldAsync("GET", "/v1/accounts/{contract}/explain/{figure}", "/v1/accounts/C-1042/explain/statement.received?paper=C-1042-statement-1");
        await HoldAsync("GET", "/v1/books", "/v1/books?through=2026-12-31&by=effective");
        await HoldAsync("GET", "/v1/months/{month}/packet", "/v1/months/2026-08/packet");
        await HoldAsync("GET", "/v1/months/{month}/ready", "/v1/months/2026-09/ready");
        using var packs = JsonDocument.Parse((await HoldAsync("GET", "/v1/law", "/v1/law"))!.Bytes);
        foreach (var pack in packs.RootElement.EnumerateArray()) { await HoldAsync("GET", "/v1/law/{code}", $"/v1/law/{pack.GetProperty("jurisdiction").GetString()}"); }
        await HoldAsync("GET", "/v1/fleet", "/v1/fleet?from=2026-08-01&through=2027-06-15");
        await HoldAsync("GET", "/v1/fleet/due", "/v1/fleet/due?on=2027-06-15");
        using var serials = JsonDocument.Parse((await HoldAsync("GET", "/v1/accounts", "/v1/accounts?limit=200"))!.Bytes);
        foreach (var one in serials.RootElement.EnumerateArray())
        {
            await HoldAsync("GET", "/v1/units/{serial}", $"/v1/units/{one.GetProperty("instrument").GetProperty("serial").GetString()}?on=2027-06-15");
        }

        await HoldAsync("GET", "/v1/checkpoint", "/v1/checkpoint");
        await HoldAsync("GET", "/v1/check", "/v1/check");
        var results = (await running.GetAsync("auditor", "/v1/results")).Text.Replace("\"signed\"", "\"signed, differently\"", StringComparison.Ordinal);
        await HoldAsync("POST", "/v1/results/differ", "/v1/results/differ", results, "application/jsonl");
        await Server.RunAsync(running.Store.Connection.Owner!, JobsOverHttpTests.Runs);
        await HoldAsync("GET", "/v1/jobs", "/v1/jobs");
        foreach (var run in JobsOverHttpTests.All) { await HoldAsync("GET", "/v1/jobs/{job}/{day}", $"/v1/jobs/{run}"); }
        await HoldAsync("GET", "/health/ready", "/health/ready");
        await HoldAsync("GET", "/problems", "/problems");
        await HoldAsync("GET", "/problems/{code}", "/problems/contract-unknown");

        // The dossier and the calendar are no JSON, and live a word.
        var told = Operations(document).Where(one => one.Name is not ("POST /v1/accounts/{contract}/dossier" or "GET /v1/accounts/{contract}/due.ics" or "GET /v1/journal" or "GET /v1/results" or "GET /health/live")).Select(one => one.Name);
        Assert.Equal(told.Order(StringComparer.Ordinal), held.Order(StringComparer.Ordinal));

        async Task<Answer?> HoldAsync(string method, string route, string path, string? body = null, string type = "application/json")
        {
            var door = Doors.All.FirstOrDefault(one => one.Route.Replace("{*", "{", StringComparison.Ordinal) == route && one.Method == method);
            var role = door is null ? null : door.Roles.Contains("manager") ? "manager" : "auditor";
            var answer = await running.SendAsync(role, new HttpMethod(method), path, body, ("Content-Type", type));
            Assert.True((int)answer.Status is 200 or 202, $"{path}: {answer.Text}");
            Assert.StartsWith("application/json", answer.Type, StringComparison.Ordinal);
            var schema = document.RootElement.GetProperty("paths").GetProperty(route).GetProperty(method.ToLowerInvariant()).GetProperty("responses")
                .GetProperty(((int)answer.Status).ToString(System.Globalization.CultureInfo.InvariantCulture)).GetProperty("content").GetProperty("application/json").GetProperty("schema");
            using var read = JsonDocument.Parse(answer.Bytes);
            Assert.True(check.Against(schema, read.RootElement) is [], $"{path}: {string.Join("; ", check.Against(schema, read.RootElement).Take(10))}");
            held.Add($"{method} {route}");
            return answer;
        }
    }

    [Fact]
    public async Task Every_good_answer_has_a_schema_in_each_of_its_media_types_and_problems_fit_theirs()
    {
        await using var running = await RunningApi.StartAsync(server);
        using var document = JsonDocument.Parse((await running.GetAsync(null, "/openapi/v1.json")).Bytes);
        foreach (var (name, operation) in Operations(document))
        {
            var good = operation.GetProperty("responses").EnumerateObject().Where(one => one.Name[0] == '2').ToList();
            Assert.True(good.Count == 1, name);
            foreach (var type in good[0].Value.GetProperty("content").EnumerateObject()) { Assert.True(type.Value.TryGetProperty("schema", out _), $"{name} as {type.Name}"); }
        }

        var check = new SchemaCheck(document.RootElement);
        foreach (var (role, path) in new[] { ("auditor", "/v1/accounts/C-9"), ("counter", "/v1/portfolio"), ("nobody", "/v1/law"), ("auditor", "/v1/accounts?on=2026-02-30"), ("auditor", "/v1/none") })
        {
            var answer = await running.GetAsync(role, path);
            Assert.NotEqual(HttpStatusCode.OK, answer.Status);
            using var read = JsonDocument.Parse(answer.Bytes);
            Assert.Empty(check.Against(document.RootElement.GetProperty("components").GetProperty("schemas").GetProperty("Problem"), read.RootElement));
        }
    }

    private static IEnumerable<(string Name, JsonElement Operation)> Operations(JsonDocument document) =>
        document.RootElement.GetProperty("paths").EnumerateObject()
            .SelectMany(path => path.Value.EnumerateObject().Select(one => ($"{one.Name.ToUpperInvariant()} {path.Name}", one.Value)));
}
