using Contracts.Host.Replay;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Microsoft.AspNetCore.Mvc;

namespace Contracts.Host.Serving.Pages;

/// <summary>What was checked and found, or null before it was asked for; and whether somebody else's check runs.</summary>
public sealed record ChecksModel(CheckReport? Report, NodaTime.Instant? At, bool Busy, IReadOnlyList<string> NotChecked)
{
    /// <summary>Where another build's results part from this one's, or null before they were sent.</summary>
    public DifferAnswer? Differ { get; init; }

    /// <summary>Why what was sent is no results file, or null.</summary>
    public Agreements.Refusal? Refusal { get; init; }
}

/// <summary>The check of everything, asked for by a button: it goes through the whole store, one at a time in a host.</summary>
internal static class CheckPages
{
    private const string Route = "/checks";

    /// <summary>What a form takes; more goes by the route or at a terminal.</summary>
    private const long LargestForm = 64L << 20;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage(Route, ChecksAsync).WithRequestTimeout(ApiHost.Many);
        routes.MapPost(Route, DifferAsync).RequireAuthorization(policy => policy.RequireClaim(Roles.Claim, [.. Doors.Differ.Roles]))
            .WithMetadata(PageHost.All.First(one => one.Route == Route), new RequestSizeLimitAttribute(LargestForm)).WithRequestTimeout(ApiHost.Many).ExcludeFromDescription();
    }

    /// <summary>Holds the results that were sent against this build's; who looked is on record first.</summary>
    private static async Task<IResult> DifferAsync(HttpContext context, ContractsStore store, OneCheck one, CancellationToken stop)
    {
        if (await ReadRecorder.RecordAsync(context, Doors.Differ, null) is { } unrecorded) { return unrecorded; }
        var none = new ChecksModel(null, null, false, []);
        var form = await context.Request.ReadFormAsync(stop);
        if (form.Files.GetFile("results") is not { Length: > 0 } file)
        {
            return PageHost.Of<ChecksPage>(
                context, none with { Refusal = new Agreements.Refusal(Agreements.RefusalCode.FieldMissing, "Choose a results file.", "results") }, StatusCodes.Status400BadRequest);
        }

        if (!one.TryBegin()) { return PageHost.Of<ChecksPage>(context, none with { Busy = true }, StatusCodes.Status429TooManyRequests); }
        try
        {
            var (answer, refusal) = await ResultsEndpoints.HoldAsync(store, file.OpenReadStream(), stop);
            return PageHost.Of<ChecksPage>(
                context, none with { Differ = answer, Refusal = refusal }, refusal is null ? StatusCodes.Status200OK : Terminal.Problem.Status(refusal.Code));
        }
        finally
        {
            one.End();
        }
    }

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
