using Contracts.Host.Reconstruct;
using Contracts.Store;

namespace Contracts.Host.Serving.Api;

/// <summary>Whether the host lives, and whether it can work.</summary>
internal static class HealthEndpoints
{
    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapGet("/health/live", () => Results.Text("live")).AllowAnonymous().DisableRateLimiting().WithTags("health")
            .WithName("live").WithSummary("The process answers.");
        routes.MapGet("/health/ready", ReadyAsync).AllowAnonymous().DisableRateLimiting().WithTags("health")
            .WithName("ready").WithSummary("The database answers; how many events wait for their seal.");
    }

    private static async Task<IResult> ReadyAsync(ContractsStore store, CancellationToken stop)
    {
        await store.Reader.NowAsync(stop);
        var waiting = await store.Seals.WaitingAsync(stop);
        return Answers.Json(AccountPrinter.Json(json =>
        {
            json.WriteStartObject();
            json.WriteString("status", "ready");
            json.WriteNumber("unsealed", waiting);
            json.WriteEndObject();
        }));
    }
}
