using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.Pages;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Tests.Support;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>The API document says what there is, and what there is is in it; its examples can be sent.</summary>
public sealed partial class ApiDocumentTests(Server server)
{
    [Fact]
    public async Task The_document_and_the_routes_name_each_other_and_every_route_has_a_door_or_is_open_on_purpose()
    {
        await using var running = await RunningApi.StartAsync(server);
        using var document = JsonDocument.Parse((await running.GetAsync(null, "/openapi/v1.json")).Bytes);
        Assert.StartsWith("3.1.", document.RootElement.GetProperty("openapi").GetString(), StringComparison.Ordinal);
        var told = document.RootElement.GetProperty("paths").EnumerateObject()
            .SelectMany(path => path.Value.EnumerateObject().Select(operation => $"{operation.Name.ToUpperInvariant()} {path.Name}"));
        var endpoints = running.Alba.Services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>().Where(one => !IsPage(one)).ToList();
        var there = endpoints.Where(one => !Shows(one))
            .SelectMany(one => one.Metadata.GetRequiredMetadata<HttpMethodMetadata>().HttpMethods.Select(method => $"{method} {one.RoutePattern.RawText!.Replace("{*", "{", StringComparison.Ordinal)}"));
        Assert.Equal(there.Order(StringComparer.Ordinal), told.Order(StringComparer.Ordinal));
        Assert.All(endpoints, one => Assert.True(
            (one.Metadata.GetMetadata<Door>() is not null || one.Metadata.GetMetadata<PageDoor>() is not null) ^ one.Metadata.GetMetadata<IAllowAnonymous>() is not null, $"{one.RoutePattern.RawText} is neither behind a door nor open."));
        Assert.Equal(Doors.All.Count, endpoints.Count(one => one.Metadata.GetMetadata<Door>() is not null));
    }

    [Fact]
    public async Task Every_operation_behind_a_door_has_words_its_key_its_problems_and_described_parameters()
    {
        await using var running = await RunningApi.StartAsync(server);
        using var document = JsonDocument.Parse((await running.GetAsync(null, "/openapi/v1.json")).Bytes);
        foreach (var door in Doors.All)
        {
            var operation = document.RootElement.GetProperty("paths").GetProperty(door.Route.Replace("{*", "{", StringComparison.Ordinal)).GetProperty(door.Method.ToLowerInvariant());
            Assert.Equal(door.Says, operation.GetProperty("summary").GetString());
            Assert.Equal("key", operation.GetProperty("security")[0].EnumerateObject().Single().Name);
            foreach (var status in (string[])["401", "403", "429", "500", "503"])
            {
                Assert.Equal(
                    "#/components/schemas/Problem",
                    operation.GetProperty("responses").GetProperty(status).GetProperty("content").GetProperty("application/problem+json").GetProperty("schema").GetProperty("$ref").GetString());
            }

            if (!operation.TryGetProperty("parameters", out var parameters)) { continue; }
            Assert.All(parameters.EnumerateArray(), one => Assert.NotEmpty(one.GetProperty("description").GetString()!));
        }
    }

    [Fact]
    public async Task The_examples_of_bodies_can_be_sent_as_they_stand()
    {
        await using var running = await RunningApi.StartAsync(server, simulated: false);
        using var document = JsonDocument.Parse((await running.GetAsync(null, "/openapi/v1.json")).Bytes);
        foreach (var (path, role) in new[] { ("/v1/commands", "manager"), ("/v1/quotes", "auditor") })
        {
            var body = document.RootElement.GetProperty("paths").GetProperty(path).GetProperty("post").GetProperty("requestBody");
            foreach (var example in body.GetProperty("content").GetProperty("application/json").GetProperty("examples").EnumerateObject())
            {
                var answer = await running.PostAsync(role, path, example.Value.GetProperty("value").GetRawText());
                Assert.True(answer.Status == HttpStatusCode.OK, $"{path} {example.Name}: {answer.Text}");
            }
        }
    }

    [Fact]
    public async Task The_page_that_shows_the_document_fetches_nothing_from_elsewhere()
    {
        await using var running = await RunningApi.StartAsync(server);
        var page = await running.GetAsync(null, "/reference");
        if (page.Status is HttpStatusCode.Redirect or HttpStatusCode.MovedPermanently) { page = await running.GetAsync(null, "/reference/"); }
        Assert.Equal(HttpStatusCode.OK, page.Status);
        Assert.DoesNotMatch("(src|href)=\"(https?:)?//", page.Text);
        var script = Script().Match(page.Text).Groups[1].Value;
        Assert.Equal(HttpStatusCode.OK, (await running.GetAsync(null, new Uri(new Uri("http://here/reference/"), script).PathAndQuery)).Status);
    }

    [Fact]
    public async Task Every_problem_leads_to_a_page_of_the_host_that_says_what_it_means()
    {
        await using var running = await RunningApi.StartAsync(server);
        foreach (var code in ApiProblems.All.Select(problem => problem.Code).Concat(Enum.GetValues<Agreements.RefusalCode>().Select(Agreements.Refusal.SlugOf)))
        {
            var page = await running.GetAsync(null, $"/problems/{code}");
            Assert.True(page.Status == HttpStatusCode.OK && page.Text.Contains("\"says\":", StringComparison.Ordinal), code);
        }

        (await running.GetAsync(null, "/problems/none")).IsProblem(404, "route-unknown");
        using var all = JsonDocument.Parse((await running.GetAsync(null, "/problems")).Bytes);
        Assert.Equal(ApiProblems.All.Count + Enum.GetValues<Agreements.RefusalCode>().Length, all.RootElement.GetArrayLength());
    }

    [Fact]
    public void The_documentation_has_a_row_for_every_problem_and_the_whole_table_of_roles()
    {
        var page = File.ReadAllText(Path.Combine(Contracts.Tests.Support.Golden.Root, "docs/api.md"));
        Assert.All(ApiProblems.All, problem => Assert.Contains($"| {problem.Code} | {problem.Status} | {problem.Says} |", page, StringComparison.Ordinal));
        Assert.All(Doors.All, door => Assert.Contains($"| `{door}` | {Crosses(door.Roles)} |", page, StringComparison.Ordinal));
        Assert.All(Commands.CommandReader.Commands, command => Assert.Contains($"| `{command}` | {Crosses(CommandDoors.For(command))} |", page, StringComparison.Ordinal));
    }

    private static string Crosses(IReadOnlyList<string> roles) => string.Join(" | ", Roles.All.Select(role => roles.Contains(role) ? "x" : " "));

    /// <summary>The document itself and the page around it describe nothing.</summary>
    private static bool Shows(RouteEndpoint endpoint) =>
        endpoint.RoutePattern.RawText!.TrimStart('/') is var route && (route.StartsWith("openapi", StringComparison.Ordinal) || route.StartsWith("reference", StringComparison.Ordinal));

    /// <summary>Pages are for people: they leave themselves out of the document.</summary>
    private static bool IsPage(RouteEndpoint endpoint) =>
        !Shows(endpoint) && !endpoint.RoutePattern.RawText!.StartsWith("/v1", StringComparison.Ordinal)
        && endpoint.Metadata.GetMetadata<IExcludeFromDescriptionMetadata>() is { ExcludeFromDescription: true };

    [GeneratedRegex("<script src=\"([^\"]+)\"")]
    private static partial Regex Script();
}
