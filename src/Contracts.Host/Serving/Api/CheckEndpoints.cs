using Contracts.Host.Replay;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;

namespace Contracts.Host.Serving.Api;

/// <summary>Lets one check at a time into a host: it goes through the whole store, and ten at once would keep everybody waiting.</summary>
public sealed class OneCheck : IDisposable
{
    private readonly SemaphoreSlim free = new(1, 1);

    /// <summary>Begins a check, or says that one is running.</summary>
    public bool TryBegin() => free.Wait(0);

    /// <summary>Ends the check that was begun.</summary>
    public void End() => free.Release();

    /// <summary>Lets nobody in any more.</summary>
    public void Dispose() => free.Dispose();
}

/// <summary>The check of everything, as the command line prints it.</summary>
internal static partial class CheckEndpoints
{
    // Nobody knows how long the one that runs still takes; a small store is done by then.
    internal static readonly TimeSpan AskAgain = TimeSpan.FromSeconds(30);

    public static void Map(IEndpointRouteBuilder routes) => routes.MapDoor(Doors.Check, CheckAsync).WithRequestTimeout(ApiHost.Many);

    private static async Task<IResult> CheckAsync(
        HttpContext context, ContractsStore store, ApiSettings settings, OneCheck one, ILoggerFactory logs, CancellationToken stop)
    {
        if (!one.TryBegin())
        {
            context.Response.Headers.RetryAfter = ApiProblems.Seconds(AskAgain);
            return ApiProblems.CheckRunning.Result();
        }

        try
        {
            // What is found is an answer, not a failure of the host.
            var report = await CheckCommand.RunAsync(store, settings.Signer, words => LogNotChecked(logs.CreateLogger("Contracts.Check"), words), stop);
            return Answers.Json(CheckCommand.Json(report));
        }
        finally
        {
            one.End();
        }
    }

    [LoggerMessage(Level = LogLevel.Warning, Message = "A check: {Words}")]
    private static partial void LogNotChecked(ILogger log, string words);
}
