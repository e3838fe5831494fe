using System.Collections.Immutable;
using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Books.Packet;
using Contracts.Commands;
using Contracts.Host.Counter;
using Contracts.Host.MonthEnd;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Proposals;
using Contracts.Store;
using Contracts.Store.Books;
using Contracts.Store.Proposals;
using Microsoft.AspNetCore.Http.Timeouts;
using NodaTime;
using NodaTime.Text;
using Wolverine;
using Command = Contracts.Agreements.Command;

namespace Contracts.Host.Serving.Pages;

/// <summary>The closed months and the next one.</summary>
public sealed record MonthsModel(IReadOnlyList<ClosedMonth> Closed, string Next, Refusal? Obstacle);

/// <summary>A closed month's packet, made again, and whether it is the one of the close.</summary>
public sealed record MonthModel(Packet Packet, bool IsSame, string Digest, ClosedMonth Closed);

/// <summary>A month that is not closed: what stands in the way, and what may be done about it.</summary>
/// <param name="Month">The month.</param>
/// <param name="Obstacle">Why it cannot be closed whatever its figures are, or null.</param>
/// <param name="Packet">What the close would check, as it stands now; null where an obstacle comes first.</param>
/// <param name="Proposal">The last proposal of its close, or null.</param>
/// <param name="MayPropose">Whether who looks may propose the close.</param>
/// <param name="MayClose">Whether who looks may close it, somebody else having approved that.</param>
/// <param name="Refusal">Why the last try was refused, or null.</param>
/// <param name="Key">The key of what the button sends.</param>
public sealed record ReadyModel(
    string Month, Refusal? Obstacle, Packet? Packet, RecordedProposal? Proposal, bool MayPropose, bool MayClose, Refusal? Refusal, string Key);

/// <summary>Finance's pages: which months are closed, and the packet of each.</summary>
internal static class MonthPages
{
    private const string One = "/months/{month}";

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage("/months", MonthsAsync);
        routes.MapPage(One, MonthAsync);
        routes.MapPost(One, CloseAsync).RequireAuthorization(policy => policy.RequireClaim(Roles.Claim, CommandDoors.For("close")))
            .WithMetadata(PageHost.All.First(one => one.Route == One)).ExcludeFromDescription();
    }

    private static async Task<IResult> MonthsAsync(HttpContext context, ContractsStore store, CancellationToken stop)
    {
        var closed = await store.MonthClose.ClosedAsync(stop);
        var today = (await store.Reader.NowAsync(stop)).InZone(Terminal.Session.Zone).Date;
        var next = closed.Count > 0 ? closed[^1].Month.PlusMonths(1) : today.ToYearMonth().PlusMonths(-1);
        return PageHost.Of<MonthsPage>(context, new MonthsModel(
            closed.Reverse().ToImmutableArray(), YearMonthPattern.Iso.Format(next), await store.MonthClose.ObstacleAsync(next, today, stop)));
    }

    private static async Task<IResult> MonthAsync(HttpContext context, ContractsStore store, string month, CancellationToken stop)
    {
        if (Read(month) is not { } wanted) { return Unreadable(context); }
        var closed = (await store.MonthClose.ClosedAsync(stop)).FirstOrDefault(one => one.Month == wanted);
        if (closed is null) { return await ReadyAsync(context, store, wanted, null, stop); }
        var (packet, isSame) = await store.MonthClose.MakeAgainAsync(wanted, stop);
        return PageHost.Of<MonthPage>(context, new MonthModel(packet!, isSame, closed.Event.Digest, closed));
    }

    /// <summary>Proposes the close, or carries out one that somebody else approved and that was held up.</summary>
    private static async Task<IResult> CloseAsync(HttpContext context, ContractsStore store, ApiSettings settings, IMessageBus bus, string month, CancellationToken stop)
    {
        if (Read(month) is not { } wanted) { return Unreadable(context); }
        var key = FormLine.Given(await context.Request.ReadFormAsync(stop)).GetValueOrDefault("key") ?? "";
        Instant? at = store.Settings.SimulatedClock ? await store.Reader.NowAsync(stop) : null;
        var change = new JsonObject { ["do"] = "close", ["month"] = month };
        var approved = await store.Proposals.ApprovedCloseAsync(wanted, await store.Reader.NowAsync(stop), stop);
        var id = ProposalPages.IdOf(key);
        var line = approved is null ? ProposalPages.Line(context, "propose", key, id, $"Close of {month}") : change;
        if (approved is null) { line["change"] = change; }
        else { (line["key"], line["by"]) = (key, context.User.Name()); }
        var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line.ToJsonString()));
        if (read is null) { return await ReadyAsync(context, store, wanted, refusal, stop); }
        var (command, alone) = await FourEyes.LookAsync(read.Command, context.User.Role(), settings.Giving, store, stop);
        if (alone is not null) { return await ReadyAsync(context, store, wanted, alone, stop); }
        context.Features.Get<IHttpRequestTimeoutFeature>()?.DisableTimeout();
        var answers = await bus.InvokeAsync<CommandAnswers>(RequestTrace.MessageFor(new CommandRequest(command, at)), stop, settings.LongestOfMany);
        if (answers.Results[0] is CommandResult.Refused refused) { return await ReadyAsync(context, store, wanted, refused.Refusal, stop); }
        return Results.Redirect(approved is null ? $"/proposals/{id}" : $"/months/{month}");
    }

    private static async Task<IResult> ReadyAsync(HttpContext context, ContractsStore store, YearMonth month, Refusal? refusal, CancellationToken stop)
    {
        var now = await store.Reader.NowAsync(stop);
        var (packet, obstacle) = await ReadyCommand.LookAsync(store, month, stop);
        var proposal = (await store.Proposals.ListAsync(now, stop)).LastOrDefault(one => one.Proposal.Change is Command.Close close && close.Month == month);
        var may = CommandDoors.For("close").Contains(context.User.Role());
        return PageHost.Of<ReadyPage>(
            context,
            new ReadyModel(
                YearMonthPattern.Iso.Format(month), obstacle, packet, proposal,
                may && obstacle is null && proposal is not { Proposal.End: ProposalEnd.Open or ProposalEnd.Approved },
                may && obstacle is null && proposal is { Proposal.End: ProposalEnd.Approved }, refusal, $"page-{Guid.NewGuid():N}"),
            refusal is null ? StatusCodes.Status200OK : Terminal.Problem.Status(refusal.Code));
    }

    private static YearMonth? Read(string month) =>
        month.Length == 7 && YearMonthPattern.Iso.Parse(month) is { Success: true, Value: { Year: >= 1900 and <= 2200 } wanted } ? wanted : null;

    private static Microsoft.AspNetCore.Http.HttpResults.RazorComponentResult Unreadable(HttpContext context) =>
        PageHost.Refused(context, new Refusal(RefusalCode.DateInvalid, "A month is written like 2026-09.", "month"));
}
