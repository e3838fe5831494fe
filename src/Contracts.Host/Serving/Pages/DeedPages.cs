using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Counter;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using NodaTime;
using Wolverine;
using Command = Contracts.Agreements.Command;

namespace Contracts.Host.Serving.Pages;

/// <summary>A form at the counter: what was filled in, what it would do, and what stands against it.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Deed">What is done.</param>
/// <param name="Given">The fields as they were filled in.</param>
/// <param name="Key">The command's key: the same for the preview and the deed, so that a second click changes nothing.</param>
/// <param name="Seen">The last event that the preview rests on; the deed is refused when more has been recorded.</param>
/// <param name="Changes">The figures that would be otherwise, on the day of the command or today, whichever is later.</param>
/// <param name="Happens">The events it would record, in trade words.</param>
/// <param name="Refusal">Why it cannot be done, or null.</param>
/// <param name="Alone">Why it can be proposed only, and somebody else has to approve it, or null.</param>
public sealed record DeedModel(
    string Contract, Deed Deed, IReadOnlyDictionary<string, string> Given, string Key, long? Seen, IReadOnlyList<Changed> Changes, IReadOnlyList<string> Happens, Refusal? Refusal,
    string? Alone = null);

/// <summary>What is done at the counter: the effect is shown first, and recorded by a second button.</summary>
internal static class DeedPages
{
    private const string Route = "/account/{contract}/do/{deed}";

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage(Route, ShowAsync);
        routes.MapPost(Route, DoAsync)
            .RequireAuthorization(policy => policy.RequireClaim(Roles.Claim, PageHost.All.First(one => one.Route == Route).Roles))
            .WithMetadata(PageHost.All.First(one => one.Route == Route)).ExcludeFromDescription();
    }

    /// <summary>The empty form, or with its fields the effect; nothing is recorded.</summary>
    private static async Task<IResult> ShowAsync(HttpContext context, ContractsStore store, ApiSettings settings, string contract, string deed, CancellationToken stop)
    {
        if (Allowed(context, deed, out var wanted) is { } against) { return against; }
        var now = await store.Reader.NowAsync(stop);
        var history = await store.Reader.HistoryAsync(contract, now, stop);
        if (history is not { IsSigned: true }) { return PageHost.Refused(context, AccountEndpoints.NotSigned(contract)); }
        var given = FormLine.Given(context.Request.Query);
        if (!given.ContainsKey("on"))
        {
            var today = now.InZone(Terminal.Session.Zone).Date;
            var rates = await store.Reader.RatesAsync(now, stop);
            given["on"] = Say.Iso(today);
            if (AccountFold.At(history, rates, today) is { } state) { Suggest(given, deed, state, now); }
            return PageHost.Of<DeedPage>(context, new DeedModel(contract, wanted!, given, "", null, [], [], null));
        }

        var key = given.GetValueOrDefault("key") is { Length: > 0 } same ? same : $"page-{Guid.NewGuid():N}";
        var (command, refusal) = Read(context, contract, wanted!, given, key);
        if (command is null) { return Again(context, new DeedModel(contract, wanted!, given, key, null, [], [], refusal)); }
        var known = new DecisionContext(await store.Reader.RatesAsync(now, stop), now.InZone(Terminal.Session.Zone).Date);
        var (preview, stands) = Preview.Of(history, known, command, now);
        return preview is null
            ? Again(context, new DeedModel(contract, wanted!, given, key, null, [], [], stands))
            : PageHost.Of<DeedPage>(context, new DeedModel(
                contract, wanted!, given, key, history.Entries[^1].Sequence,
                Figures.Differ(Account.Of(preview.Before, now), Account.Of(preview.After, now)), [.. preview.Outcomes.Select(one => HistoryLine.Say(one.Event))], null,
                await AloneAsync(context, wanted!, command, settings, store, stop)));
    }

    /// <summary>What a form begins with beside the day: what is due, or the terms as they are.</summary>
    private static void Suggest(Dictionary<string, string> given, string deed, AccountState state, Instant now)
    {
        if (deed == "buy") { given.TryAdd("amount", Account.Of(state, now).EarlyPurchase.Payoff.ToString()); }
        if (deed == "pay" && Account.Of(state, now) is { PastDue.IsPositive: true } behind) { given.TryAdd("amount", behind.PastDue.ToString()); }
        if (deed != "exchange") { return; }
        foreach (var (name, value) in OfferFields.Of(state.Terms)) { given.TryAdd(name, value); }
    }

    /// <summary>Why who is signed in may only propose it, or null.</summary>
    private static async Task<string?> AloneAsync(
        HttpContext context, Deed deed, Command.OnContract command, ApiSettings settings, ContractsStore store, CancellationToken stop) =>
        deed.Roles.Contains(context.User.Role())
            ? (await FourEyes.LookAsync(command, context.User.Role(), settings.Giving, store, stop)).Refusal?.Detail
            : $"Your role may propose this; {string.Join(" or ", deed.Roles)} may do it.";

    /// <summary>Records it, if nothing has been recorded of the contract since the effect was shown.</summary>
    private static async Task<IResult> DoAsync(
        HttpContext context, ContractsStore store, ApiSettings settings, IMessageBus bus, string contract, string deed, CancellationToken stop)
    {
        if (Allowed(context, deed, out var wanted) is { } against) { return against; }
        var form = await context.Request.ReadFormAsync(stop);
        var given = FormLine.Given(form);
        var key = given.GetValueOrDefault("key") ?? "";
        var (command, refusal) = Read(context, contract, wanted!, given, key);
        if (command is null) { return Again(context, new DeedModel(contract, wanted!, given, key, null, [], [], refusal)); }
        long? seen = long.TryParse(given.GetValueOrDefault("seen"), System.Globalization.CultureInfo.InvariantCulture, out var number) ? number : null;
        Instant? at = store.Settings.SimulatedClock ? await store.Reader.NowAsync(stop) : null;
        if (await AloneAsync(context, wanted!, command, settings, store, stop) is { } alone)
        {
            return await ProposeAsync(context, bus, new DeedModel(contract, wanted!, given, key, seen, [], [], null, alone), at, stop);
        }

        var answers = await bus.InvokeAsync<CommandAnswers>(RequestTrace.MessageFor(new CommandRequest(command, at, seen)), stop);
        return answers.Results[0] is CommandResult.Refused refused
            ? Again(context, new DeedModel(contract, wanted!, given, key, null, [], [], refused.Refusal))
            : Results.Redirect($"/account/{Uri.EscapeDataString(contract)}?done={Uri.EscapeDataString(wanted!.Name)}#events");
    }

    private static async Task<IResult> ProposeAsync(HttpContext context, IMessageBus bus, DeedModel model, Instant? at, CancellationToken stop)
    {
        var id = ProposalPages.IdOf(model.Key);
        var line = ProposalPages.Line(context, "propose", model.Key, id, model.Given.GetValueOrDefault("reason"));
        line["change"] = Change(model.Contract, model.Deed, model.Given);
        var (read, refusal) = CommandReader.Read(System.Text.Encoding.UTF8.GetBytes(line.ToJsonString()));
        if (read is null) { return Again(context, model with { Refusal = refusal }); }
        var answers = await bus.InvokeAsync<CommandAnswers>(RequestTrace.MessageFor(new CommandRequest(read.Command, at)), stop);
        return answers.Results[0] is CommandResult.Refused refused
            ? Again(context, model with { Refusal = refused.Refusal })
            : Results.Redirect($"/proposals/{id}");
    }

    private static Microsoft.AspNetCore.Http.HttpResults.RazorComponentResult Again(HttpContext context, DeedModel model) =>
        PageHost.Of<DeedPage>(context, model, model.Refusal is { } refusal ? Terminal.Problem.Status(refusal.Code) : StatusCodes.Status200OK);

    private static Microsoft.AspNetCore.Http.HttpResults.RazorComponentResult? Allowed(HttpContext context, string name, out Deed? deed)
    {
        deed = Deeds.Find(name);
        if (deed is null) { return PageHost.Refused(context, new NoPage("field-invalid", $"There is no form for '{name}'.", null, StatusCodes.Status404NotFound)); }
        var may = deed.Roles.Union(Deed.Proposers).ToList();
        return may.Contains(context.User.Role())
            ? null
            : PageHost.Refused(context, new NoPage(
                ApiProblems.RoleForbids.Code, $"The role {context.User.Role()} may not do this. It takes one of: {string.Join(", ", may)}.", null,
                StatusCodes.Status403Forbidden));
    }

    /// <summary>The command as a line of a command file, read by the same reader; who sends it is who is signed in.</summary>
    private static (Command.OnContract? Command, Refusal? Refusal) Read(
        HttpContext context, string contract, Deed deed, Dictionary<string, string> given, string key)
    {
        var line = Change(contract, deed, given);
        line["key"] = key;
        line["by"] = context.User.Name();
        var (read, refusal) = CommandReader.Read(System.Text.Encoding.UTF8.GetBytes(line.ToJsonString()));
        return (read?.Command as Command.OnContract, refusal);
    }

    /// <summary>What is to be done, without who does it and under which key.</summary>
    private static JsonObject Change(string contract, Deed deed, IReadOnlyDictionary<string, string> given)
    {
        var line = FormLine.Of(deed.Fields.Prepend(new DeedField("on", "On the day", FieldKind.Day)), given);
        line["do"] = deed.Name;
        line["contract"] = contract;
        return line;
    }
}
