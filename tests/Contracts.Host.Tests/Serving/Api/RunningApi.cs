using System.Net;
using System.Text;
using System.Text.Json.Nodes;
using Alba;
using Contracts.Host.Papers;
using Contracts.Host.Serving;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Seals;
using Microsoft.AspNetCore.Builder;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>A host on a database of its own, as the role of everyday work, with a key for each role.</summary>
internal sealed class RunningApi : IAsyncDisposable
{
    private readonly Dictionary<string, string> keys = new(StringComparer.Ordinal);
    private readonly string signers;

    private RunningApi(ContractsStore store, IAlbaHost alba, string signers)
    {
        (Store, Alba, this.signers) = (store, alba, signers);
        Client = alba.Server.CreateClient();
    }

    public ContractsStore Store { get; }

    public IAlbaHost Alba { get; }

    public HttpClient Client { get; }

    public ISigner Signer => new FolderSigner(signers);

    /// <summary>Where the log's key and the signer's memory lie.</summary>
    public string SignerFolder => signers;

    /// <summary>The database, for the command line beside the host.</summary>
    public string Database => Store.Connection.Everyday;

    public static async Task<RunningApi> StartAsync(
        Server server, ApiSettings? settings = null, bool simulated = true, SignInSettings? signIn = null, Action<WebApplicationBuilder>? more = null)
    {
        var connection = await server.NewGuardedAsync();
        var store = await ContractsStore.OpenAsync(connection, new StoreSettings(Server.Zone, simulated, PaperPress.Print, server.Keys));
        await MessageTables.EnsureAsync(store.Connection, CancellationToken.None);
        var signers = Directory.CreateTempSubdirectory("api-signer-").FullName;
        var limits = (settings ?? new ApiSettings { Burst = 1_000_000, RequestsPerSecond = 1_000_000 }) with { Signer = new FolderSigner(signers) };
        var builder = ContractsHost.Builder(store, store.Connection.Everyday, limits, signIn ?? new SignInSettings { AttemptsPerMinute = 1_000_000 });
        more?.Invoke(builder);
        var alba = await AlbaHost.For(builder, ContractsHost.Map);
        var running = new RunningApi(store, alba, signers);
        foreach (var role in Roles.All) { running.keys[role] = (await store.Keys.MakeAsync($"A {role}", role, 1, "An owner")).Text; }
        return running;
    }

    /// <summary>The key of a role.</summary>
    public string KeyOf(string role) => keys[role];

    /// <summary>Sends a request as a role, or as nobody.</summary>
    public async Task<Answer> SendAsync(string? role, HttpMethod method, string path, string? body = null, params (string Name, string Value)[] headers)
    {
        using var request = new HttpRequestMessage(method, path);
        if (body is not null) { request.Content = new StringContent(body, Encoding.UTF8, "application/json"); }
        if (role is not null) { request.Headers.TryAddWithoutValidation("Authorization", $"Bearer {(keys.TryGetValue(role, out var key) ? key : role)}"); }
        foreach (var (name, value) in headers)
        {
            if (request.Content is not null && name == "Content-Type") { request.Content.Headers.Remove(name); request.Content.Headers.TryAddWithoutValidation(name, value); }
            else { request.Headers.TryAddWithoutValidation(name, value); }
        }

        using var response = await Client.SendAsync(request, TestContext.Current.CancellationToken);
        return new Answer(
            response.StatusCode, await response.Content.ReadAsByteArrayAsync(TestContext.Current.CancellationToken),
            response.Headers.Concat(response.Content.Headers).ToDictionary(one => one.Key, one => string.Join(", ", one.Value), StringComparer.OrdinalIgnoreCase));
    }

    public Task<Answer> GetAsync(string? role, string path, params (string Name, string Value)[] headers) => SendAsync(role, HttpMethod.Get, path, null, headers);

    public Task<Answer> PostAsync(string? role, string path, string body, params (string Name, string Value)[] headers) =>
        SendAsync(role, HttpMethod.Post, path, body, headers);

    /// <summary>Sends a command as the manager and expects it to be applied; a close is proposed by finance and approved by the manager.</summary>
    public async Task AppliedAsync(string line)
    {
        if (JsonNode.Parse(line) is { } command && (string?)command["do"] == "close")
        {
            var (at, month) = ((string?)command["at"], (string?)command["month"]);
            await AppliedAsync("finance", $$"""{"do":"propose","key":"propose-{{month}}","at":"{{at}}","proposal":"close-{{month}}","reason":"month end","change":{"do":"close","month":"{{month}}"} }""");
            line = $$"""{"do":"approve","key":"approve-{{month}}","at":"{{at}}","proposal":"close-{{month}}"}""";
        }

        await AppliedAsync("manager", line);
    }

    /// <summary>Sends a command as a role and expects it to be applied.</summary>
    public async Task AppliedAsync(string role, string line)
    {
        var answer = await PostAsync(role, "/v1/commands", line);
        Assert.True(answer.Status == HttpStatusCode.OK, answer.Text);
        Assert.Contains("\"outcome\":\"applied\"", answer.Text, StringComparison.Ordinal);
    }

    public async ValueTask DisposeAsync()
    {
        Client.Dispose();
        await Alba.DisposeAsync();
        await Store.DisposeAsync();
        Directory.Delete(signers, recursive: true);
        NpgsqlConnection.ClearAllPools();
    }
}

/// <summary>What came back.</summary>
internal sealed record Answer(HttpStatusCode Status, byte[] Bytes, IReadOnlyDictionary<string, string> Headers)
{
    public string Text => Encoding.UTF8.GetString(Bytes);

    public string Type => Headers.GetValueOrDefault("Content-Type", "");

    /// <summary>Expects a problem of a code, whole and explained.</summary>
    public Answer IsProblem(int status, string code)
    {
        Assert.True((int)Status == status && Type.StartsWith("application/problem+json", StringComparison.Ordinal), $"{(int)Status} {Type} {Text}");
        Assert.Contains($"\"type\":\"/problems/{code}\"", Text, StringComparison.Ordinal);
        Assert.Contains($"\"status\":{status}", Text, StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", Text, StringComparison.Ordinal);
        return this;
    }
}
