using System.ComponentModel;
using Contracts.Agreements;
using Contracts.Host.Papers;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Contracts.Store.Dossiers;
using Contracts.Store.Papers;

namespace Contracts.Host.Serving.Api;

/// <summary>What was handed out: papers, made again to the byte, and dossiers.</summary>
internal static class PaperEndpoints
{
    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapDoor(Doors.Papers, PapersAsync);
        routes.MapDoor(Doors.Paper, PaperAsync);
        routes.MapDoor(Doors.Dossier, DossierAsync).WithRequestTimeout(ApiHost.Many);
    }

    private static async Task<IResult> PapersAsync(
        ContractsStore store, [Description(Words.Contract)] string contract, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, null, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        return await store.Reader.HistoryAsync(contract, question.Known, stop) is { IsSigned: true } history
            ? Answers.Json(PapersCommand.Json([.. PaperArchive.Of(history)]))
            : Answers.Refused(AccountEndpoints.NotSigned(contract));
    }

    private static async Task<IResult> PaperAsync(
        HttpContext context, ContractsStore store, [Description(Words.Contract)] string contract,
        [Description("The paper's id, as the list of papers has it.")] string paper,
        [Description("json for the data that the paper was made of.")] string? format, CancellationToken stop)
    {
        // An id may have a slash, which a path has to write as %2F.
        var id = paper.Replace("%2F", "/", StringComparison.OrdinalIgnoreCase);
        if (await store.Papers.MakeAgainAsync(id, stop) is not { } again || again.Issued.Contract != contract)
        {
            return Answers.Refused(new Refusal(RefusalCode.PaperUnknown, $"No paper was issued as '{id}' on {contract}.", "paper"));
        }

        if (again.Differs.Count > 0) { return Answers.Refused(ReissueCommand.Differs(again)); }
        // It is shown, and never does anything.
        context.Response.Headers.ContentSecurityPolicy = "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:";
        context.Response.Headers.XContentTypeOptions = "nosniff";
        return format == "json" ? Results.Bytes(again.Data!, "application/json") : Results.Bytes(again.Printed!.Bytes, again.Issued.Event.MediaType);
    }

    internal static async Task<IResult> DossierAsync(
        HttpContext context, ContractsStore store, ApiSettings settings, [Description(Words.Contract)] string contract,
        [Description(Words.On)] string? on, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        if (await store.Reader.HistoryAsync(contract, question.Known, stop) is not { IsSigned: true }) { return Answers.Refused(AccountEndpoints.NotSigned(contract)); }
        if (settings.Signer is null) { return ApiProblems.NothingSigned.Result(); }
        // Everything recorded so far goes under an anchor, so that "these are all" is about now.
        await store.SealerWith(settings.Signer).SealAsync(anchor: true, stop);
        var request = new DossierRequest(
            contract, question.On, question.Known.At, await store.Reader.NowAsync(stop), context.User.Name(), ReadRecorder.PurposeOf(context.Request));
        var extras = DossierExtras.None with { KnownSize = question.Known.Size };
        return Results.Bytes(await store.Dossiers.MakeAsync(request, settings.Signer, extras, stop), "application/zip", $"{contract}.zip");
    }
}
