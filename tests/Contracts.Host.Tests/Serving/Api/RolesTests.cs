using System.Net;
using Contracts.Commands;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Tests.Support;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>Who may come in: every route and every command, each as every role, as nobody, and with keys that are over.</summary>
public sealed class RolesTests(Server server)
{
    [Fact]
    public async Task Every_route_opens_for_the_roles_of_the_table_and_for_no_other()
    {
        await using var running = await RunningApi.StartAsync(server);
        foreach (var door in Doors.All)
        {
            var path = PathOf(door);
            (await running.SendAsync(null, new HttpMethod(door.Method), path, BodyOf(door, Roles.Manager))).IsProblem(401, "key-missing");
            foreach (var role in Roles.All)
            {
                var answer = await running.SendAsync(role, new HttpMethod(door.Method), path, BodyOf(door, role));
                if (door.Roles.Contains(role))
                {
                    Assert.True(answer.Status is not (HttpStatusCode.Forbidden or HttpStatusCode.Unauthorized) && (int)answer.Status < 500, $"{door} as {role}: {answer.Text}");
                    continue;
                }

                answer.IsProblem(403, "role-forbids");
                Assert.Contains($"\"role\":\"{role}\",\"roles\":[\"{string.Join("\",\"", door.Roles)}\"]", answer.Text, StringComparison.Ordinal);
            }
        }
    }

    [Fact]
    public async Task Every_command_is_taken_from_the_roles_of_the_table_and_from_no_other()
    {
        await using var running = await RunningApi.StartAsync(server);
        foreach (var command in CommandReader.Commands)
        {
            Assert.NotEmpty(CommandDoors.For(command));
            foreach (var role in Doors.Commands.Roles)
            {
                foreach (var door in new[] { Doors.Commands, Doors.Queue })
                {
                    // Whoever approves or closes must know what came of it, so that is not taken for later.
                    if (!door.Roles.Contains(role) || (door == Doors.Queue && command is "approve" or "close")) { continue; }
                    // A line of any command, which the rules then refuse or not: only who sends it matters here.
                    var answer = await running.PostAsync(role, door.Route, CommandLines.Of(command));
                    Assert.False(answer.Status is HttpStatusCode.BadRequest && command != "adopt-law", $"{command}: {answer.Text}");
                    Assert.Equal(!CommandDoors.For(command).Contains(role), answer.Text.Contains("\"role-forbids\"", StringComparison.Ordinal));
                }
            }
        }
    }

    [Fact]
    public void What_a_role_is_for_is_what_the_table_says()
    {
        Assert.DoesNotContain(Roles.Auditor, CommandReader.Commands.SelectMany(CommandDoors.For));
        Assert.Equal(
            ["answer-dispute", "attach-paper", "close-dispute", "decline", "open-dispute", "propose"],
            CommandReader.Commands.Where(command => CommandDoors.For(command).Contains(Roles.Compliance)).Order(StringComparer.Ordinal));
        Assert.DoesNotContain(Roles.Developer, CommandReader.Commands.SelectMany(CommandDoors.For));
        Assert.Equal([Roles.Finance], CommandDoors.For("close"));
        Assert.All(["refund", "write-off"], command => Assert.Equal([Roles.Manager], CommandDoors.For(command)));
        Assert.All(["sign", "pay", "swap"], command => Assert.Contains(Roles.Counter, CommandDoors.For(command)));
        Assert.All([Doors.Papers, Doors.Paper, Doors.Dossier], door => Assert.DoesNotContain(Roles.Developer, door.Roles));
        Assert.Contains(Roles.Compliance, Doors.Dossier.Roles);
        Assert.All(Doors.All.Where(door => door.Route.Contains("{contract}", StringComparison.Ordinal)), door => Assert.True(door.Recorded));
    }

    [Fact]
    public async Task A_key_that_is_unknown_over_or_taken_back_opens_nothing_and_says_so()
    {
        await using var running = await RunningApi.StartAsync(server);
        (await running.GetAsync("contracts_no-such-key", "/v1/law")).IsProblem(401, "key-unknown");
        (await running.GetAsync(new string('x', 5000), "/v1/law")).IsProblem(401, "key-unknown");
        var (text, key) = await running.Store.Keys.MakeAsync("A till", "auditor", 1, "An owner");
        Assert.Equal(HttpStatusCode.OK, (await running.GetAsync(text, "/v1/law")).Status);
        await running.Store.Keys.RevokeAsync(key.Id, "An owner");
        var refused = (await running.GetAsync(text, "/v1/law")).IsProblem(401, "key-revoked");
        Assert.Equal("Bearer", refused.Headers["WWW-Authenticate"]);
        var (late, over) = await running.Store.Keys.MakeAsync("A till", "auditor", 1, "An owner");
        await Server.RunAsync(running.Store.Connection.Owner!, $"update access.keys set expires_at = clock_timestamp() where id = '{over.Id}'");
        (await running.GetAsync(late, "/v1/law")).IsProblem(401, "key-expired");
    }

    [Fact]
    public async Task A_read_is_written_down_with_its_purpose_before_it_is_answered()
    {
        await using var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        await running.GetAsync("support", "/v1/accounts/C-1", ("X-Purpose", "a complaint of March"));
        await running.GetAsync("auditor", "/v1/accounts/C-1/history?purpose=year%20end");
        await running.GetAsync("developer", "/v1/accounts/C-1/totals");
        await running.GetAsync("developer", "/v1/accounts/C-1/papers");
        var reads = await running.Store.Readings.OfAsync("C-1");
        Assert.Equal(
            [
                ("A support", "support", "/v1/accounts/{contract}", "a complaint of March"), ("A auditor", "auditor", "/v1/accounts/{contract}/history", "year end"),
                ("A developer", "developer", "/v1/accounts/{contract}/totals", "not said"),
            ],
            reads.Select(read => (read.By, read.Role, read.Route, read.Purpose)));
        (await running.GetAsync("support", "/v1/accounts/C-1?purpose=" + new string('x', 201))).IsProblem(400, "field-invalid");
    }

    [Fact]
    public async Task What_cannot_be_written_down_is_not_answered()
    {
        await using var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        await Server.RunAsync(running.Store.Connection.Owner!, "revoke insert on access.readings from contracts_app");
        foreach (var door in Doors.All.Where(door => door.Recorded))
        {
            var answer = (await running.SendAsync(door.Roles.Contains("manager") ? "manager" : "auditor", new HttpMethod(door.Method), PathOf(door))).IsProblem(503, "read-not-recorded");
            // Not even the tag of what was read meanwhile, which tells the figures apart.
            Assert.DoesNotContain(answer.Headers.Keys, name => name is "ETag" or "Link");
        }

        // And nothing that goes one at a time is kept by an answer that nobody got.
        Assert.Equal(HttpStatusCode.OK, (await running.GetAsync("auditor", "/v1/check")).Status);
    }

    [Fact]
    public async Task When_the_database_is_away_the_answer_is_503_and_says_to_come_again()
    {
        var running = await RunningApi.StartAsync(server);
        await using (running)
        {
            var name = new NpgsqlConnectionStringBuilder(running.Database).Database;
            await Server.RunAsync(server.Owner, $"alter database {name} allow_connections false");
            await Server.RunAsync(server.Owner, $"select pg_terminate_backend(pid) from pg_stat_activity where datname = '{name}'");
            (await running.GetAsync("auditor", "/v1/law")).IsProblem(503, "store-unavailable");
            var away = (await running.GetAsync(null, "/health/ready")).IsProblem(503, "store-unavailable");
            Assert.Equal("1", away.Headers["Retry-After"]);
            Assert.Equal(HttpStatusCode.OK, (await running.GetAsync(null, "/health/live")).Status);
            await Server.RunAsync(server.Owner, $"alter database {name} allow_connections true");
        }
    }

    internal static string PathOf(Door door) => door.Route.Replace("{contract}", "C-1", StringComparison.Ordinal)
        .Replace("{*paper}", "none", StringComparison.Ordinal).Replace("{*figure}", "equity", StringComparison.Ordinal).Replace("{month}", "2026-09", StringComparison.Ordinal).Replace("{code}", "NY", StringComparison.Ordinal)
        .Replace("{*serial}", "S-1", StringComparison.Ordinal).Replace("{job}", "check", StringComparison.Ordinal).Replace("{day}", "2026-09-10", StringComparison.Ordinal);

    internal static string? BodyOf(Door door, string role) => door == Doors.Commands || door == Doors.Queue ? CommandLines.Of("propose") : door == Doors.Quotes ? "{}" : null;
}
