using System.Security.Cryptography;
using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Disclosures;
using Contracts.Host.Counter;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Proposals;
using Contracts.Store;
using Contracts.Store.Proposals;
using NodaTime;
using Wolverine;

namespace Contracts.Host.Serving.Pages;

/// <summary>What waits for a second person, and what became of the rest, the last first.</summary>
public sealed record ProposalsModel(IReadOnlyList<RecordedProposal> Open, IReadOnlyList<RecordedProposal> Decided);

/// <summary>One proposal, and what it would do now.</summary>
/// <param name="Recorded">The proposal.</param>
/// <param name="Key">The key of the decision, the same for the look and the button.</param>
/// <param name="Seen">The contract's last event that the effect rests on.</param>
/// <param name="Changes">The figures that would be otherwise.</param>
/// <param name="Happens">The events it would record, in trade words.</param>
/// <param name="Refusal">Why it cannot be done now, or why a decision was refused.</param>
/// <param name="MayApprove">Whether who looks may approve it.</param>
/// <param name="MayDecline">Whether who looks may put it aside.</param>
public sealed record ProposalModel(
    RecordedProposal Recorded, string Key, long? Seen, IReadOnlyList<Changed> Changes, IReadOnlyList<string> Happens, Refusal? Refusal, bool MayApprove, bool MayDecline);

/// <summary>The pages on which a second person looks at what the first one proposed.</summary>
internal static class ProposalPages
{
    private const string One = "/proposals/{proposal}";
    private const int Shown = 100;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage("/proposals", ListAsync);
        routes.MapPage(One, ShowAsync);
        var door = PageHost.All.First(one => one.Route == One);
        routes.MapPost(One, DecideAsync).RequireAuthorization(policy => policy.RequireClaim(Roles.Claim, door.Roles)).WithMetadata(door).ExcludeFromDescription();
    }

    /// <summary>The name of a proposal that a form makes: the same form makes the same one.</summary>
    public static string IdOf(string key) => "P-" + Convert.ToHexString(SHA256.HashData(Encoding.UTF8.GetBytes(key)))[..10];

    /// <summary>The beginning of a line about a proposal; who sends it is who is signed in.</summary>
    public static JsonObject Line(HttpContext context, string command, string key, string id, string? reason)
    {
        var line = new JsonObject { ["do"] = command, ["key"] = key, ["by"] = context.User.Name(), ["proposal"] = id };
        if (reason is { Length: > 0 }) { line["reason"] = reason; }
        return line;
    }

    private static async Task<IResult> ListAsync(HttpContext context, ContractsStore store, CancellationToken stop)
    {
        var all = (await store.Proposals.ListAsync(await store.Reader.NowAsync(stop), stop)).Reverse().ToList();
        return PageHost.Of<ProposalsPage>(context, new ProposalsModel(
            [.. all.Where(one => one.Proposal.End == ProposalEnd.Open)], [.. all.Where(one => one.Proposal.End != ProposalEnd.Open).Take(Shown)]));
    }

    private static async Task<IResult> ShowAsync(HttpContext context, ContractsStore store, string proposal, CancellationToken stop) =>
        await store.Proposals.FindAsync(proposal, stop) is { } found
            ? PageHost.Of<ProposalPage>(context, await LookAsync(context, store, found, $"page-{Guid.NewGuid():N}", null, stop))
            : Unknown(context, proposal);

    private static async Task<IResult> DecideAsync(
        HttpContext context, ContractsStore store, ApiSettings settings, IMessageBus bus, string proposal, CancellationToken stop)
    {
        if (await store.Proposals.FindAsync(proposal, stop) is not { } found) { return Unknown(context, proposal); }
        var given = FormLine.Given(await context.Request.ReadFormAsync(stop));
        var (approves, key) = (given.GetValueOrDefault("decision") == "approve", given.GetValueOrDefault("key") ?? "");
        if (approves ? !FourEyes.MayApprove(found).Contains(context.User.Role()) : !CommandDoors.For("decline").Contains(context.User.Role()))
        {
            return PageHost.Refused(context, new NoPage(
                ApiProblems.RoleForbids.Code, $"The role {context.User.Role()} may not decide on this.", null, StatusCodes.Status403Forbidden));
        }

        var line = Line(context, approves ? "approve" : "decline", key, proposal, given.GetValueOrDefault("reason"));
        var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line.ToJsonString()));
        if (read is null) { return await AgainAsync(refusal!); }
        long? seen = long.TryParse(given.GetValueOrDefault("seen"), System.Globalization.CultureInfo.InvariantCulture, out var number) ? number : null;
        Instant? at = store.Settings.SimulatedClock ? await store.Reader.NowAsync(stop) : null;
        var answers = await bus.InvokeAsync<CommandAnswers>(RequestTrace.MessageFor(new CommandRequest(read.Command, at, seen)), stop);
        if (answers.Results[0] is CommandResult.Refused refused) { return await AgainAsync(refused.Refusal); }
        if (approves && found.Proposal.Change is Command.Close close)
        {
            close = close with { Origin = close.Origin with { Approved = context.User.Name() } };
            answers = await bus.InvokeAsync<CommandAnswers>(RequestTrace.MessageFor(new CommandRequest(close, at)), stop, settings.LongestOfMany);
            if (answers.Results[0] is CommandResult.Refused stands) { return await AgainAsync(stands.Refusal); }
        }

        return Results.Redirect($"/proposals/{proposal}");

        async Task<IResult> AgainAsync(Refusal why)
        {
            var now = (await store.Proposals.FindAsync(proposal, stop))!;
            return PageHost.Of<ProposalPage>(context, await LookAsync(context, store, now, $"page-{Guid.NewGuid():N}", why, stop), Terminal.Problem.Status(why.Code));
        }
    }

    private static async Task<ProposalModel> LookAsync(
        HttpContext context, ContractsStore store, RecordedProposal recorded, string key, Refusal? refusal, CancellationToken stop)
    {
        var isOpen = recorded.Proposal.End == ProposalEnd.Open;
        var may = isOpen && FourEyes.MayApprove(recorded).Contains(context.User.Role()) && context.User.Name() != recorded.Proposal.Maker;
        var mayDecline = isOpen && CommandDoors.For("decline").Contains(context.User.Role());
        var model = new ProposalModel(recorded, key, null, [], [], refusal, may, mayDecline);
        if (!isOpen || recorded.Proposal.Change is not Command.OnContract on) { return model; }
        var now = await store.Reader.NowAsync(stop);
        if (await store.Reader.HistoryAsync(on.Contract, now, stop) is not { IsSigned: true } history) { return model; }
        var known = new DecisionContext(await store.Reader.RatesAsync(now, stop), now.InZone(Terminal.Session.Zone).Date);
        var (preview, stands) = Preview.Of(history, known, on, now);
        return preview is null
            ? model with { Refusal = refusal ?? stands, MayApprove = false }
            : model with
            {
                Seen = history.Entries[^1].Sequence, Changes = Figures.Differ(Account.Of(preview.Before, now), Account.Of(preview.After, now)),
                Happens = [.. preview.Outcomes.Select(one => HistoryLine.Say(one.Event))],
            };
    }

    private static Microsoft.AspNetCore.Http.HttpResults.RazorComponentResult Unknown(HttpContext context, string proposal) =>
        PageHost.Refused(context, new Refusal(RefusalCode.ProposalUnknown, $"No proposal '{proposal}' was made.", "proposal"));
}
