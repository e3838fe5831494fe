using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Host.Counter;
using Contracts.Host.Disputes;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Contracts.WhatIf;
using NodaTime;
using Wolverine;
using Command = Contracts.Agreements.Command;

namespace Contracts.Host.Serving.Pages;

/// <summary>What would be, on a page.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="On">The day of the figures.</param>
/// <param name="Facts">What can be supposed otherwise: the facts of the history, the last recorded first.</param>
/// <param name="Given">The form as it was filled in.</param>
/// <param name="Answer">What would be, or null where nothing was asked or it is refused.</param>
/// <param name="Corrections">What brings the real account there.</param>
/// <param name="Waiting">The places in that list of commands that can be proposed only when the ones before are approved.</param>
/// <param name="MayPropose">Whether who looks may propose them.</param>
/// <param name="Key">The key of the proposals, the same for the look and the button.</param>
/// <param name="Refusal">Why there is no answer.</param>
public sealed record WhatIfModel(
    string Contract, LocalDate On, IReadOnlyList<HistoryLine> Facts, IReadOnlyDictionary<string, string> Given, WhatIfAnswer? Answer, Corrections? Corrections,
    IReadOnlyList<int> Waiting, bool MayPropose, string Key, Refusal? Refusal);

/// <summary>The page that supposes: choose a fact and what it should have been, see what would be, and propose what brings the account there.</summary>
internal static class WhatIfPages
{
    private const string Route = "/account/{contract}/what-if";
    private static readonly string[] Added = ["pay", "credit", "elect-plan", "cancel-plan"];

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage(Route, ShowAsync);
        routes.MapPost(Route, ProposeAsync).RequireAuthorization(policy => policy.RequireClaim(Roles.Claim, Deed.Proposers))
            .WithMetadata(PageHost.All.First(one => one.Route == Route)).AddEndpointFilter(PageHost.RecordAsync).ExcludeFromDescription();
    }

    private static async Task<IResult> ShowAsync(HttpContext context, ContractsStore store, string contract, string? on, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, null, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        return await LookAsync(context, store, contract, question, FormLine.Given(context.Request.Query), $"page-{Guid.NewGuid():N}", null, stop) is { } model
            ? Page(context, model)
            : PageHost.Refused(context, AccountEndpoints.NotSigned(contract));
    }

    /// <summary>Proposes the corrections one by one, each under a name that follows from the form, so that a second click makes none again.</summary>
    private static async Task<IResult> ProposeAsync(HttpContext context, ContractsStore store, IMessageBus bus, string contract, CancellationToken stop)
    {
        var given = FormLine.Given(await context.Request.ReadFormAsync(stop));
        var (question, refusal) = await Question.ReadAsync(store, given.GetValueOrDefault("on"), null, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        var key = given.GetValueOrDefault("key") ?? "";
        if (await LookAsync(context, store, contract, question, given, key, given.GetValueOrDefault("reason"), stop) is not { } model)
        {
            return PageHost.Refused(context, AccountEndpoints.NotSigned(contract));
        }

        Instant? at = store.Settings.SimulatedClock ? await store.Reader.NowAsync(stop) : null;
        foreach (var (index, command) in (model.Corrections?.Commands ?? []).Index().Where(one => !model.Waiting.Contains(one.Index)))
        {
            var id = ProposalPages.IdOf($"{key}:{index}");
            var line = ProposalPages.Line(context, "propose", $"{key}:{index}", id, given.GetValueOrDefault("reason") is { Length: > 0 } reason ? reason : command.Origin.Reason);
            line["change"] = Change(command);
            var (read, unread) = CommandReader.Read(Encoding.UTF8.GetBytes(line.ToJsonString()));
            if (read is null) { return Page(context, model with { Refusal = unread }); }
            var answers = await bus.InvokeAsync<CommandAnswers>(RequestTrace.MessageFor(new CommandRequest(read.Command, at)), stop);
            if (answers.Results[0] is CommandResult.Refused refused) { return Page(context, model with { Refusal = refused.Refusal }); }
        }

        return Results.Redirect($"/account/{Uri.EscapeDataString(contract)}/dispute?on={Say.Iso(question.On)}#proposals");
    }

    /// <summary>A correction as a proposal holds it: its key and its actor follow from the proposal.</summary>
    private static JsonObject Change(Command.OnContract command)
    {
        var line = CommandWriter.Line(command);
        line.Remove("key");
        line.Remove("by");
        return line;
    }

    private static async Task<WhatIfModel?> LookAsync(
        HttpContext context, ContractsStore store, string contract, Question question, Dictionary<string, string> given, string key, string? reason, CancellationToken stop)
    {
        if (await ComparedViews.ReadAsync(store, contract, question.On, question.Known, stop) is not { History.IsSigned: true } view) { return null; }
        var facts = HistoryLine.Of(view.History, view.Rates).Where(line => !line.Entry.Event.IsNote).Reverse().ToList();
        var may = Deed.Proposers.Contains(context.User.Role());
        var model = new WhatIfModel(contract, question.On, facts, given, null, null, [], may, key, null);
        if (given.GetValueOrDefault("what") is not { Length: > 0 } what) { return model; }
        var (look, refusal) = await WhatIfLook.OfAsync(
            store, contract, Encoding.UTF8.GetBytes(Supposed(what, given).ToJsonString()), question.On, question.Known, isNow: true, stop, context.User.Name(),
            reason is { Length: > 0 } ? reason : null);
        if (look is null) { return model with { Refusal = refusal }; }
        var known = new DecisionContext(view.Rates, question.Known.At.InZone(Terminal.Session.Zone).Date);
        var waiting = look.Corrections!.Commands.Index()
            .Where(one => ContractDecider.Decide(view.History, known, one.Item.Origin, one.Item.On, one.Item.Body) is Decision.Refused).Select(one => one.Index);
        return model with { Answer = look.Answer, Corrections = look.Corrections, Waiting = [.. waiting] };
    }

    /// <summary>The form as the object of docs/what-if.md.</summary>
    private static JsonObject Supposed(string what, Dictionary<string, string> given)
    {
        string Field(string name) => given.GetValueOrDefault(name) ?? "";
        if (Added.Contains(what, StringComparer.Ordinal))
        {
            var line = new JsonObject { ["do"] = what, ["on"] = Field("day") };
            if (what is "pay" or "credit") { line["amount"] = Field("amount"); }
            if (what == "pay") { line["method"] = "cash"; }
            return new JsonObject { ["add"] = line };
        }

        return what switch
        {
            "redate" => new JsonObject { ["redate"] = Field("fact"), ["on"] = Field("day") },
            "amount" => new JsonObject { ["change"] = Field("fact"), ["with"] = new JsonObject { ["amount"] = Field("amount") } },
            "law" => new JsonObject { ["law"] = Field("law") },
            _ => new JsonObject { ["remove"] = Field("fact") },
        };
    }

    private static Microsoft.AspNetCore.Http.HttpResults.RazorComponentResult Page(HttpContext context, WhatIfModel model) =>
        PageHost.Of<WhatIfPage>(context, model, model.Refusal is { } refusal ? Terminal.Problem.Status(refusal.Code) : StatusCodes.Status200OK);
}
