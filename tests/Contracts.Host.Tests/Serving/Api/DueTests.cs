using System.Net;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using Contracts.Host.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>The due dates that remain, for a calendar.</summary>
public sealed class DueTests(Server server)
{
    [Fact]
    public async Task The_calendar_has_each_installment_that_remains_once_and_is_the_command_lines()
    {
        await using var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        var id = "C-" + new string('1', 38);
        await running.AppliedAsync(Lines.Sign(id, "S-1"));
        var path = $"/v1/accounts/{id}/due.ics?on=2026-09-10&known=2026-09-02";
        var answer = await running.GetAsync("support", path);
        Assert.Equal((HttpStatusCode.OK, "text/calendar"), (answer.Status, answer.Type));
        // Lines end in CR LF and have at most 75 octets; unfolded, they are whole again.
        Assert.Equal(answer.Text.Split('\n').Length - 1, Regex.Count(answer.Text, "\r\n"));
        Assert.All(answer.Text.Split("\r\n"), line => Assert.InRange(Encoding.UTF8.GetByteCount(line), 0, 75));
        Assert.Contains("\r\n ", answer.Text, StringComparison.Ordinal);
        var lines = Unfolded(answer);
        using var account = JsonDocument.Parse((await running.GetAsync("support", $"/v1/accounts/{id}?on=2026-09-10&known=2026-09-02")).Bytes);
        var left = account.RootElement.GetProperty("installments").GetProperty("remaining").GetInt32();
        var days = lines.Where(line => line.StartsWith("DTSTART;VALUE=DATE:", StringComparison.Ordinal)).ToList();
        // 20.00 have fallen due; 280.00 are left in rents of 30.00 with a tax of 8%.
        Assert.Equal((10, 10), (left, days.Count));
        Assert.Equal(("DTSTART;VALUE=DATE:20261001", "DTSTART;VALUE=DATE:20270701"), (days[0], days[^1]));
        var summaries = lines.Where(line => line.StartsWith("SUMMARY:", StringComparison.Ordinal)).ToList();
        Assert.Equal(($"SUMMARY:Instrument rental {id}: 32.40 due", $"SUMMARY:Instrument rental {id}: 10.80 due"), (summaries[0], summaries[^1]));
        Assert.Equal("32.40", account.RootElement.GetProperty("nextDue").GetProperty("amount").GetString());
        Assert.Equal(10, Uids(lines).Distinct().Count());
        Assert.Equal((await Shell.ContractsAsync(running.Database, "due", id, "--on", "2026-09-10", "--known", "2026-09-02", "--out", "-")).Output, answer.Text);

        // A month later the rest keep their names, and a hold leaves no day fixed.
        var later = Unfolded(await running.GetAsync("support", $"/v1/accounts/{id}/due.ics?on=2026-10-10"));
        Assert.Equal(Uids(lines).Skip(1), Uids(later));
        await running.AppliedAsync($$"""{"do":"hold","key":"h","at":"2026-10-10T12:00:00Z","contract":"{{id}}","on":"2026-10-10","reason":"a summer away"}""");
        var held = await running.GetAsync("support", $"/v1/accounts/{id}/due.ics?on=2026-10-11");
        Assert.DoesNotContain("VEVENT", held.Text, StringComparison.Ordinal);
        Assert.Contains("BEGIN:VJOURNAL", held.Text, StringComparison.Ordinal);
        (await running.GetAsync("support", "/v1/accounts/C-9/due.ics")).IsProblem(404, "contract-unknown");
    }

    private static List<string> Unfolded(Answer answer) => [.. answer.Text.Replace("\r\n ", "", StringComparison.Ordinal).Split("\r\n")];

    private static IEnumerable<string> Uids(IEnumerable<string> lines) => lines.Where(line => line.StartsWith("UID:", StringComparison.Ordinal));
}
