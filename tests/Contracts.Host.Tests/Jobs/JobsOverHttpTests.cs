using System.Net;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Jobs;

/// <summary>The runs of jobs over HTTP and on their page: the bytes of the command line, and every run with what came of it.</summary>
public sealed class JobsOverHttpTests(Server server)
{
    /// <summary>Three runs as jobs leave them: done with tasks, done without, failed.</summary>
    internal const string Runs = """
        insert into access.job_runs (job, day, began_at, ended_at, attempts, done, total, outcome, fault) values
            ('billing', '2026-09-09', '2026-09-09T10:00:00Z', '2026-09-09T10:00:01Z', 1, 2, 2, '{"events":3}', null),
            ('notices', '2026-09-09', '2026-09-09T10:00:01Z', '2026-09-09T10:00:02Z', 2, 1, 1,
             '{"tasks":[{"kind":"default-notice","contract":"C-2","on":"2026-09-09","about":"late:2026-09-01","amount":"26.60","paper":"day:default-notice:C-2"}]}', null),
            ('check', '2026-09-10', '2026-09-10T10:00:00Z', null, 3, 0, null, null, 'the disk is <full>')
        """;

    /// <summary>The same as the paths have them.</summary>
    internal static readonly string[] All = ["billing/2026-09-09", "notices/2026-09-09", "check/2026-09-10"];

    [Fact]
    public async Task The_routes_give_the_bytes_of_the_command_line()
    {
        await using var running = await RunningApi.StartAsync(server);
        await Server.RunAsync(running.Store.Connection.Owner!, Runs);
        await SameAsync(running, "/v1/jobs", "jobs");
        await SameAsync(running, "/v1/jobs?most=1", "jobs", "--most", "1");
        foreach (var run in All) { await SameAsync(running, $"/v1/jobs/{run}", ["jobs", "show", .. run.Split('/')]); }
        await SameAsync(running, "/v1/jobs/seals/2026-09-09", "jobs", "show", "seals", "2026-09-09");
        foreach (var wrong in new[] { "/v1/jobs?most=0", "/v1/jobs?most=x", "/v1/jobs?most=10001", "/v1/jobs/check/today" }) { Assert.Equal(HttpStatusCode.BadRequest, (await running.GetAsync("developer", wrong)).Status); }
    }

    [Fact]
    public async Task The_page_lists_the_runs_and_shows_what_came_of_one()
    {
        await using var running = await RunningApi.StartAsync(server);
        Assert.Contains("No job has run.", (await running.GetAsync("compliance", "/jobs")).Text, StringComparison.Ordinal);
        await Server.RunAsync(running.Store.Connection.Owner!, Runs);
        var list = (await running.GetAsync("compliance", "/jobs")).Text;
        Assert.Equal(["check", "billing", "notices"], list.Split("<a href=\"/jobs?job=").Skip(1).Select(one => one.Split('&')[0]));
        Assert.Contains("&#x2717; failed", list, StringComparison.Ordinal);
        // What failed is told as text and not as markup.
        Assert.Contains("the disk is &lt;full&gt;", list, StringComparison.Ordinal);
        var one = (await running.GetAsync("compliance", "/jobs?job=notices&day=2026-09-09")).Text;
        Assert.Contains("<a href=\"/account/C-2\">C-2</a></td><td class=\"d\">2026-09-09</td><td>late:2026-09-01</td><td class=\"n\">26.60</td><td class=\"id\">day:default-notice:C-2</td>", one, StringComparison.Ordinal);
        Assert.Contains("3 new notes", (await running.GetAsync("compliance", "/jobs?job=billing&day=2026-09-09")).Text, StringComparison.Ordinal);
        Assert.Contains("The job seals did not run for 2026-09-09.", (await running.GetAsync("compliance", "/jobs?job=seals&day=2026-09-09")).Text, StringComparison.Ordinal);
    }

    private static async Task SameAsync(RunningApi running, string path, params string[] options)
    {
        var printed = await Shell.ContractsAsync(running.Database, [.. options, "--format", "json"]);
        var told = printed.Exit == 0 ? printed.Output : printed.Error.Replace("urn:contracts:refusal:", "/problems/", StringComparison.Ordinal);
        Assert.Equal(told, (await running.GetAsync("developer", path)).Text);
    }
}
