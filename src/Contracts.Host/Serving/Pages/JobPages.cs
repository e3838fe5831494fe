using System.Text.Json;
using Contracts.Host.Serving.Api;
using Contracts.Store;
using Contracts.Store.Jobs;

namespace Contracts.Host.Serving.Pages;

/// <summary>The newest runs of the day's jobs, and the one that was asked for.</summary>
/// <param name="Runs">The runs, the newest day first.</param>
/// <param name="Shown">The run whose outcome is shown, or null.</param>
/// <param name="Tasks">What it found to do, a row each, in the columns of the command line; empty for jobs that find none.</param>
/// <param name="Outcome">Its outcome as it is kept, where that is no list of tasks.</param>
public sealed record JobsModel(IReadOnlyList<JobRun> Runs, JobRun? Shown, IReadOnlyList<IReadOnlyList<string>> Tasks, string? Outcome);

/// <summary>The page of the day's jobs.</summary>
internal static class JobPages
{
    private static readonly string[] Columns = ["kind", "contract", "on", "about", "amount"];

    public static void Map(IEndpointRouteBuilder routes) => routes.MapPage("/jobs", JobsAsync);

    private static async Task<IResult> JobsAsync(HttpContext context, ContractsStore store, string? job, string? day, CancellationToken stop)
    {
        JobRun? shown = null;
        if (!string.IsNullOrEmpty(job))
        {
            (shown, var refusal) = await JobEndpoints.FindAsync(store, job, day ?? "", stop);
            if (refusal is not null) { return PageHost.Refused(context, refusal); }
        }

        var tasks = TasksOf(shown?.Outcome);
        return PageHost.Of<JobsPage>(
            context, new JobsModel(await store.Jobs.ListAsync(JobEndpoints.Usual, stop), shown, tasks ?? [], tasks is null ? shown?.Outcome : null));
    }

    private static List<IReadOnlyList<string>>? TasksOf(string? outcome)
    {
        if (outcome is null) { return null; }
        using var read = JsonDocument.Parse(outcome);
        return read.RootElement.TryGetProperty("tasks", out var tasks)
            ? [.. tasks.EnumerateArray().Select(task => (IReadOnlyList<string>)[.. Columns.Select(name => Text(task, name)), Text(task, "paper") + Text(task, "refused")])]
            : null;
    }

    private static string Text(JsonElement of, string name) => of.TryGetProperty(name, out var value) ? value.GetString() ?? "" : "";
}
