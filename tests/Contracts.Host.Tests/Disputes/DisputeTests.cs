using System.Net;
using System.Text.Json.Nodes;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Serving.Pages;
using Contracts.Host.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Disputes;

/// <summary>A dispute from claim to answer on a real store: over the API, on the page, on the command line, and as a paper. Invented throughout.</summary>
public sealed class DisputeTests(Server server) : IDisposable
{
    private const string Digest = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08";
    private readonly string folder = Directory.CreateTempSubdirectory("contracts-dispute-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task A_dispute_goes_from_its_claim_to_its_answer_and_every_surface_says_the_same()
    {
        await using var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        await running.AppliedAsync(Line("open-dispute", "d-1", "2026-09-18", "\"dispute\":\"D-1\",\"claim\":\"payment\",\"says\":\"Paid on the 2nd (invented)\""));
        await running.AppliedAsync(Lines.Pay("C-1", "p-1", "21.60", "2026-09-19T12:00:00Z", on: "2026-09-02"));
        await running.AppliedAsync(Line("attach-paper", "d-2", "2026-09-19", $"\"dispute\":\"D-1\",\"title\":\"a bank statement\",\"digest\":\"{Digest}\""));
        (await running.PostAsync("counter", "/v1/commands", Line("answer-dispute", "d-3", "2026-09-19", "\"dispute\":\"D-1\",\"finding\":\"upheld\",\"says\":\"s\""))).IsProblem(403, "role-forbids");

        // Support answers on the page of the contract, which shows the effect first.
        var desk = (await running.GetAsync("support", "/account/C-1/dispute?on=2026-09-18")).Text;
        Assert.Contains("Paid on the 2nd (invented)", desk, StringComparison.Ordinal);
        Assert.Contains("/account/C-1/do/answer-dispute", desk, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.OK, (await running.GetAsync("support", "/account/C-1/do/answer-dispute")).Status);
        await running.AppliedAsync("support", Line("answer-dispute", "d-3", "2026-09-19", "\"dispute\":\"D-1\",\"finding\":\"upheld\",\"says\":\"It is on the account now\""));

        var told = await running.GetAsync("compliance", "/v1/disputes?on=2026-09-20");
        var one = JsonNode.Parse(told.Text)!.AsArray().Single()!;
        Assert.Equal(("D-1", "answered", "upheld"), ((string)one["dispute"]!, (string)one["standing"]!, (string)one["answers"]![0]!["finding"]!));
        var due = one["readings"]!["figures"]!.AsArray().Single(figure => (string)figure!["figure"]! == "pastDue")!;
        Assert.Equal(("26.60", "0.00"), ((string)due["said"]!, (string)due["isSo"]!));
        Assert.Equal("p-1", (string?)one["readings"]!["since"]!.AsArray().Single());
        Assert.Equal(told.Text, (await Shell.ContractsAsync(running.Database, "disputes", "--on", "2026-09-20", "--format", "json")).Output);
        Assert.Contains("the other", (await Shell.ContractsAsync(running.Database, "disputes", "--on", "2026-09-20", "--format", "table")).Output, StringComparison.Ordinal);
        Assert.Equal(2, (await Shell.ContractsAsync(running.Database, "disputes", "--on", "2026-09-20", "--format", "csv")).Output.Trim().Split('\n').Length);
        // As known before the payment came the readings are one.
        Assert.Empty(JsonNode.Parse((await running.GetAsync("compliance", "/v1/disputes?on=2026-09-18&known=2026-09-18")).Text)![0]!["readings"]!["figures"]!.AsArray());
        Assert.Equal(HttpStatusCode.Forbidden, (await running.GetAsync("developer", "/v1/disputes")).Status);

        var letter = Path.Combine(folder, "letter.html");
        await running.AppliedAsync(Line("issue", "letter", "2026-09-19", "\"kind\":\"dispute-answer\",\"for\":\"d-3\""));
        var again = await Shell.ContractsAsync(running.Database, "reissue", "letter", "--out", letter);
        Assert.True(again.Exit == 0, again.Error);
        var paper = await File.ReadAllTextAsync(letter, TestContext.Current.CancellationToken);
        Assert.Contains("<h1>Answer to a dispute</h1>", paper, StringComparison.Ordinal);
        Assert.Contains("The household is right.", paper, StringComparison.Ordinal);
        Assert.Contains("Rent-to-own rules vary by state", paper, StringComparison.Ordinal);

        await running.AppliedAsync("support", Line("close-dispute", "d-4", "2026-09-20", "\"dispute\":\"D-1\",\"outcome\":\"settled\""));
        Assert.Equal("[]\n", (await running.GetAsync("compliance", "/v1/disputes?on=2026-09-20")).Text);
        Assert.Equal("closed", (string?)JsonNode.Parse((await running.GetAsync("compliance", "/v1/disputes?on=2026-09-20&status=all&contract=C-1")).Text)![0]!["standing"]);
        var check = await Shell.ContractsAsync(running.Database, "check");
        Assert.True(check.Exit == 0, check.Output + check.Error);
    }

    private static string Line(string command, string key, string on, string more) =>
        $$"""{"do":"{{command}}","key":"{{key}}","at":"{{on}}T13:00:00Z","contract":"C-1","on":"{{on}}",{{more}}}""";
}
