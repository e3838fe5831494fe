using System.ComponentModel;
using System.Globalization;
using Contracts.Agreements;
using Contracts.Host.Jobs;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Jobs;
using Microsoft.OpenApi;
using static Contracts.Host.Serving.Api.Shapes;

namespace Contracts.Host.Serving.Api;

/// <summary>The runs of the day's jobs, as the command line prints them.</summary>
internal static class JobEndpoints
{
    /// <summary>How many runs a list has where nobody says.</summary>
    public const int Usual = 40;

    private const int Largest = 10_000;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapDoor(Doors.Jobs, ListAsync);
        routes.MapDoor(Doors.Job, ShowAsync);
    }

    /// <summary>One run, or why there is none, in the words of the command line.</summary>
    internal static async Task<(JobRun? Run, Refusal? Refusal)> FindAsync(ContractsStore store, string job, string day, CancellationToken stop)
    {
        if (CommonOptions.ParseDay(day) is not { } on) { return (null, new Refusal(RefusalCode.DateInvalid, "'day' must be a day such as 2026-12-05.", "day")); }
        return await store.Jobs.FindAsync(job, on, stop) is { } run
            ? (run, null)
            : (null, new Refusal(RefusalCode.FieldInvalid, $"The job {job} did not run for {on:uuuu-MM-dd}.", "day"));
    }

    /// <summary>A run in a list, with what came of it in a few words.</summary>
    public static OpenApiSchema RunShape() => Closed("A run of one of the day's jobs (docs/jobs.md).", [.. Members(), ("words", Text("What came of it, in a few words."))]);

    /// <summary>A run with all that came of it.</summary>
    public static OpenApiSchema WholeRunShape() => Closed(
        "A run of one of the day's jobs with what came of it (docs/jobs.md).",
        [
            .. Members(), ("outcome?", Open("What came of it; each job has members of its own. Missing until it is done.")),
            ("words?", Text("Where nothing came of it yet: how far it is, or why it failed.")),
        ]);

    private static (string Name, IOpenApiSchema Shape)[] Members() =>
    [
        ("job", Text()), ("day", Day()), ("state", Text("done, failed, running, and whatever else a run can be.")), ("beganAt", Moment("When it last began.")),
        ("endedAt?", Moment()), ("attempts", Count()), ("done", Count("How many things it has looked at.")), ("total?", Count("Of how many.")), ("fault?", Text("Why it failed."))
    ];

    private static async Task<IResult> ListAsync(
        ContractsStore store, [Description("How many runs at most, 1 to 10000, the newest day first; 40 when left out.")] string? most, CancellationToken stop)
    {
        var count = Usual;
        return most is { Length: > 0 } && (!int.TryParse(most, NumberStyles.None, CultureInfo.InvariantCulture, out count) || count is < 1 or > Largest)
            ? Answers.Refused(new Refusal(RefusalCode.FieldInvalid, $"'most' is a number from 1 to {Largest}.", "most"))
            : Answers.Json(JobsPrinter.Json(await store.Jobs.ListAsync(count, stop)));
    }

    private static async Task<IResult> ShowAsync(
        ContractsStore store, [Description("The job's name, such as notices.")] string job,
        [Description("The day it was for, such as 2026-12-05.")] string day, CancellationToken stop)
    {
        var (run, refusal) = await FindAsync(store, job, day, stop);
        return run is null ? Answers.Refused(refusal!) : Answers.Json(JobsPrinter.Json(run));
    }
}
