using System.ComponentModel;
using Contracts.Agreements;
using Contracts.Host.Replay;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Microsoft.AspNetCore.Mvc;
using Microsoft.OpenApi;
using static Contracts.Host.Serving.Api.Shapes;

namespace Contracts.Host.Serving.Api;

/// <summary>What the build of this host makes of all history, and where the results of another build part from it. One at a time, like a check.</summary>
internal static class ResultsEndpoints
{
    /// <summary>Results of a larger store are held against each other at a terminal.</summary>
    internal const long LargestFile = 256L << 20;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapDoor(Doors.Results, ResultsAsync).WithRequestTimeout(ApiHost.Many);
        routes.MapDoor(Doors.Differ, DifferAsync).WithRequestTimeout(ApiHost.Many).WithMetadata(new RequestSizeLimitAttribute(LargestFile));
    }

    /// <summary>Holds this build against a results file, for route and page; exactly one of the answers is given.</summary>
    /// <remarks>The file's own moment and day are looked at, as by `contracts differ`.</remarks>
    internal static async Task<(DifferAnswer? Answer, Refusal? Refusal)> HoldAsync(ContractsStore store, Stream file, CancellationToken stop)
    {
        try
        {
            var (header, lines) = await ResultsFile.OpenAsync(file, stop);
            await using (lines)
            {
                var source = await ReplaySource.OfAsync(store, header.Known, header.Today, stop);
                return (await DifferAnswer.OfAsync(await BuildDiffer.RunAsync(source, header, lines, stop), source, stop), null);
            }
        }
        catch (Exception wrong) when (wrong is FormatException or InvalidDataException)
        {
            return (null, new Refusal(RefusalCode.MalformedLine, $"This is no results file: {wrong.Message}", "results"));
        }
    }

    /// <summary>The shape of the second answer.</summary>
    public static OpenApiSchema Shape() => Closed(
        "Where two builds part, by cause (docs/replay.md).",
        ("same", Flag("Whether they part nowhere.")), ("contracts", Count("How many were compared.")), ("parted", Count()),
        ("causes", List(Closed(
            null, ("count", Count("How many contracts part so.")), ("event", Text("At which event.")), ("leading", OrNull(Text("The figure that leads."))),
            ("rule", OrNull(Text("This build's rule behind it."))), ("contracts", List(Text())), ("first", Difference()), ("amounts", OrNull(Difference())),
            ("explain", OrNull(Text("The command that opens its tree."))), ("step", OrNull(Text("The command that shows the event.")))))),
        ("caution", Text()));

    private static OpenApiSchema Difference() => Closed(
        null, ("contract", Text()), ("number", Count("Which event of its stream.")), ("sequence", Count()), ("on", Text("The day of the figures; empty where there are none.")),
        ("figures", List(Closed(
            null, ("figure", Text()), ("recorded", Text()), ("now", Text()), ("by?", Text("How much more it is now.")), ("least?", Text()), ("most?", Text())))));

    private static async Task<IResult> ResultsAsync(
        ContractsStore store, [Description(Words.On)] string? on, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        if (question.Known.Size is not null) { return Answers.Refused(new Refusal(RefusalCode.DateInvalid, "'known' is a moment here, no checkpoint.", "known")); }
        return new OneAtATime(async body =>
            await ResultsFile.WriteAsync(await ReplaySource.OfAsync(store, question.Known.At, question.On, stop), body, stop));
    }

    /// <summary>
    /// Lines that are made while they are sent, one such answer or check at a time. It begins when it is sent: an answer that is put away, because the look could
    /// not be written down, keeps nobody out.
    /// </summary>
    private sealed class OneAtATime(Func<Stream, Task> write) : IResult
    {
        public async Task ExecuteAsync(HttpContext httpContext)
        {
            var one = httpContext.RequestServices.GetRequiredService<OneCheck>();
            if (!one.TryBegin())
            {
                await Busy(httpContext).ExecuteAsync(httpContext);
                return;
            }

            try
            {
                await Results.Stream(write, "application/jsonl").ExecuteAsync(httpContext);
            }
            finally
            {
                one.End();
            }
        }
    }

    private static async Task<IResult> DifferAsync(HttpContext context, ContractsStore store, OneCheck one, CancellationToken stop)
    {
        if (context.Request.ContentType?.Split(';')[0].Trim() is not ("application/jsonl" or "application/x-ndjson")) { return ApiProblems.MediaTypeWrong.Result(); }
        if (!one.TryBegin()) { return Busy(context); }
        try
        {
            var (answer, refusal) = await HoldAsync(store, context.Request.Body, stop);
            return answer is null ? Answers.Refused(refusal!) : Answers.Json(answer.Json());
        }
        finally
        {
            one.End();
        }
    }

    private static IResult Busy(HttpContext context)
    {
        context.Response.Headers.RetryAfter = ApiProblems.Seconds(CheckEndpoints.AskAgain);
        return ApiProblems.CheckRunning.Result();
    }
}
