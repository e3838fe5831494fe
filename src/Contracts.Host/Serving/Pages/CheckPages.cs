using Contracts.Host.Replay;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;

namespace Contracts.Host.Serving.Pages;

/// <summary>What was checked and found, or null before it was asked for; and whether somebody else's check runs.</summary>
public sealed record ChecksModel(CheckReport? Report, NodaTime.Instant? At, bool Busy, IReadOnlyList<string> NotChecked);

/// <summary>The check of everything, asked for by a button: it goes through the whole store, one at a time in a host.</summary>
internal static class CheckPages
{
    public static void Map(IEndpointRouteBuilder routes) => routes.MapPage("/checks", ChecksAsync).WithRequestTimeout(ApiHost.Many);

    private static async Task<IResult> ChecksAsync(HttpContext context, ContractsStore store, ApiSettings settings, OneCheck one, string? run, CancellationToken stop)
    {
        if (run != "yes") { return PageHost.Of<ChecksPage>(context, new ChecksModel(null, null, false, [])); }
        if (!one.TryBegin())
        {
            context.Response.Headers.RetryAfter = ApiProblems.Seconds(CheckEndpoints.AskAgain);
            return PageHost.Of<ChecksPage>(context, new ChecksModel(null, null, true, []), StatusCodes.Status429TooManyRequests);
        }

        try
        {
            var words = new List<string>();
            var report = await CheckCommand.RunAsync(store, settings.Signer, words.Add, stop);
            return PageHost.Of<ChecksPage>(context, new ChecksModel(report, await store.Reader.NowAsync(stop), false, words));
        }
        finally
        {
            one.End();
        }
    }
}
