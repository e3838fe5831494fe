using System.Net;
using Contracts.Host.Serving.Api;
using Contracts.Host.Tests.Support;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>The check of everything over HTTP.</summary>
public sealed class CheckTests(Server server)
{
    [Fact]
    public async Task The_check_is_the_command_lines_to_the_byte_and_faults_are_an_answer()
    {
        await using var running = await StartAsync();
        var good = await running.GetAsync("auditor", "/v1/check");
        Assert.Equal(HttpStatusCode.OK, good.Status);
        Assert.StartsWith("{\"ok\":true,", good.Text, StringComparison.Ordinal);
        Assert.Equal((await PrintedAsync(running, 0)).Output, good.Text);

        await Server.RunAsync(running.Store.Connection.Owner!, "update contracts.mt_events set data = jsonb_set(data, '{amount}', '\"9.00\"') where type = 'payment_received'");
        var bad = await running.GetAsync("developer", "/v1/check");
        Assert.Equal(HttpStatusCode.OK, bad.Status);
        Assert.StartsWith("{\"ok\":false,", bad.Text, StringComparison.Ordinal);
        Assert.Contains("\"stream\":\"C-1\"", bad.Text, StringComparison.Ordinal);
        Assert.Equal((await PrintedAsync(running, 3)).Output, bad.Text);
    }

    [Fact]
    public async Task A_second_check_at_the_same_time_is_sent_away_and_comes_back_later()
    {
        await using var running = await StartAsync();
        var one = running.Alba.Services.GetRequiredService<OneCheck>();
        Assert.True(one.TryBegin());
        var busy = (await running.GetAsync("compliance", "/v1/check")).IsProblem(429, "check-running");
        Assert.Equal("30", busy.Headers["Retry-After"]);
        one.End();
        // Each lets the next one in, one that fails too.
        Assert.Equal(HttpStatusCode.OK, (await running.GetAsync("compliance", "/v1/check")).Status);
        await Server.RunAsync(running.Store.Connection.Owner!, "alter table contracts.placements rename to elsewhere");
        Assert.NotEqual(HttpStatusCode.OK, (await running.GetAsync("compliance", "/v1/check")).Status);
        await Server.RunAsync(running.Store.Connection.Owner!, "alter table contracts.elsewhere rename to placements");
        Assert.Equal(HttpStatusCode.OK, (await running.GetAsync("compliance", "/v1/check")).Status);
    }

    private async Task<RunningApi> StartAsync()
    {
        var running = await RunningApi.StartAsync(server);
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        await running.AppliedAsync(Lines.Pay("C-1", "p-1", "21.60", "2026-09-20T12:00:00Z"));
        await running.Store.SealerWith(running.Signer).SealAsync(anchor: false, TestContext.Current.CancellationToken);
        return running;
    }

    /// <summary>With the same signer as the host, whose memory is part of what is checked.</summary>
    private static async Task<(int Exit, string Output, string Error)> PrintedAsync(RunningApi running, int exit)
    {
        var printed = await Shell.ContractsAsync(running.Database, [("CONTRACTS_SIGNER", running.SignerFolder)], "check", "--format", "json");
        Assert.True(printed.Exit == exit, printed.Error);
        return printed;
    }
}
