using System.ComponentModel;
using Contracts.Agreements;
using Contracts.Host.Counter;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;

namespace Contracts.Host.Serving.Api;

/// <summary>What a command would do: the body of `/v1/commands` in, its events and figures out, or the refusal it would meet.</summary>
internal static class PreviewEndpoints
{
    public static void Map(IEndpointRouteBuilder routes) => routes.MapDoor(Doors.Preview, PreviewAsync);

    /// <summary>
    /// Whoever sees accounts may look, whether or not their role may do it. The answer shows an account that only the body names, so the read is
    /// written down here, with its contract, as a read of that account is.
    /// </summary>
    private static async Task<IResult> PreviewAsync(
        HttpContext context, ContractsStore store, ApiSettings settings, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (line, problem) = await Bodies.ReadAsync(context.Request, settings, stop);
        if (problem is not null) { return problem.Result(); }
        var (read, refusal) = CommandPreview.Read(line);
        if (read is null) { return Answers.Refused(refusal!); }
        (var question, refusal) = await Question.ReadAsync(store, null, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        if (await ReadRecorder.RecordAsync(context, Doors.Preview, ((Command.OnContract)read.Command).Contract) is { } unrecorded) { return unrecorded; }
        (var preview, refusal) = await CommandPreview.OfAsync(store, read, question.Known, stop);
        return preview is null ? Answers.Refused(refusal!) : Answers.Json(preview.Json());
    }
}
