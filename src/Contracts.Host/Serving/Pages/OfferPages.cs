using System.Collections.Immutable;
using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Counter;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Quotes;
using Contracts.Store;
using NodaTime;
using Wolverine;
using Command = Contracts.Agreements.Command;

namespace Contracts.Host.Serving.Pages;

/// <summary>An offer as it was filled in, and what it really costs.</summary>
/// <param name="Signs">Whether the form signs, rather than only quotes.</param>
/// <param name="Fields">The form's fields.</param>
/// <param name="Given">What was filled in.</param>
/// <param name="Key">The key of the signing.</param>
/// <param name="Quote">What it costs, or null where it cannot be told yet.</param>
/// <param name="Happens">What signing would record, in trade words.</param>
/// <param name="Due">What is due on the day of signing.</param>
/// <param name="Refusal">Why it cannot be offered or signed.</param>
public sealed record OfferModel(
    bool Signs, IReadOnlyList<DeedField> Fields, IReadOnlyDictionary<string, string> Given, string Key, Quote? Quote, IReadOnlyList<string> Happens, Money? Due, Refusal? Refusal);

/// <summary>The pages before there is a contract: what renting really costs, and the signing.</summary>
internal static class OfferPages
{
    private const string Signing = "/sign";

    private static readonly ImmutableArray<DeedField> QuoteFields = [.. OfferFields.Place, .. OfferFields.Terms];

    private static readonly ImmutableArray<DeedField> SignFields =
    [
        new("contract", "Contract, such as C-1042"), new("on", "Day of the signing", FieldKind.Day), new("household", "The household's reference; never a name"),
        .. OfferFields.Unit, .. OfferFields.Place, .. OfferFields.Terms,
        new("accessories.0.description", "Bought with it", Needed: false), new("accessories.0.price", "Its price, $", FieldKind.Amount, Needed: false),
    ];

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage("/quote", (HttpContext context, ContractsStore store, CancellationToken stop) => ShowAsync(context, store, signs: false, stop));
        routes.MapPage(Signing, (HttpContext context, ContractsStore store, CancellationToken stop) => ShowAsync(context, store, signs: true, stop));
        var door = PageHost.All.First(one => one.Route == Signing);
        routes.MapPost(Signing, SignAsync).RequireAuthorization(policy => policy.RequireClaim(Roles.Claim, door.Roles)).WithMetadata(door).ExcludeFromDescription();
    }

    private static async Task<IResult> ShowAsync(HttpContext context, ContractsStore store, bool signs, CancellationToken stop)
    {
        var given = FormLine.Given(context.Request.Query);
        var now = await store.Reader.NowAsync(stop);
        var rates = await store.Reader.RatesAsync(now, stop);
        var model = new OfferModel(signs, signs ? SignFields : QuoteFields, given, Key(given), null, [], null, null);
        if (!given.ContainsKey("terms.monthlyRent"))
        {
            await SuggestAsync(given, store, now, stop);
            return PageHost.Of<OfferPage>(context, model);
        }

        var (offer, refusal) = QuoteReader.Read(Encoding.UTF8.GetBytes(FormLine.Of(QuoteFields, given).ToJsonString()));
        if (offer is not null) { refusal = QuoteMaker.Fault(offer, rates); }
        if (refusal is not null) { return Refused(context, model, refusal); }
        model = model with { Quote = QuoteMaker.Make(offer!, rates) };
        if (!signs || !given.ContainsKey("contract")) { return PageHost.Of<OfferPage>(context, model); }
        var (command, unreadable) = Read(context, given, model.Key);
        if (command is null) { return Refused(context, model, unreadable!); }
        var known = await store.Reader.HistoryAsync(command.Contract, now, stop) ?? ContractHistory.Unsigned(command.Contract);
        var day = now.InZone(Terminal.Session.Zone).Date;
        var decision = ContractDecider.Decide(known, new DecisionContext(rates, day), command.Origin, command.On, command.Body);
        if (decision is Decision.Refused refused) { return Refused(context, model, refused.Refusal); }
        var outcomes = ((Decision.Accepted)decision).Outcomes;
        var sequence = 0L;
        var lived = outcomes.Aggregate(known, (history, outcome) => history.Evolve(new Recorded(
            outcome.Event, ++sequence, now, command.Origin.Key, command.Origin.By, command.Origin.Reason, outcome.Cause)));
        var first = LocalDate.Max(command.On, lived.Signing.StartOn);
        var due = AccountFold.At(lived, rates, first) is { } state ? Account.Of(state, now).PastDue : (Money?)null;
        return PageHost.Of<OfferPage>(context, model with { Happens = [.. outcomes.Select(one => HistoryLine.Say(one.Event))], Due = due });
    }

    private static async Task<IResult> SignAsync(HttpContext context, ContractsStore store, IMessageBus bus, CancellationToken stop)
    {
        var given = FormLine.Given(await context.Request.ReadFormAsync(stop));
        var model = new OfferModel(true, SignFields, given, Key(given), null, [], null, null);
        var (command, refusal) = Read(context, given, model.Key);
        if (command is null) { return Refused(context, model, refusal!); }
        Instant? at = store.Settings.SimulatedClock ? await store.Reader.NowAsync(stop) : null;
        var answers = await bus.InvokeAsync<CommandAnswers>(RequestTrace.MessageFor(new CommandRequest(command, at)), stop);
        return answers.Results[0] is CommandResult.Refused refused
            ? Refused(context, model, refused.Refusal)
            : Results.Redirect($"/account/{Uri.EscapeDataString(command.Contract)}?done=sign#events");
    }

    private static (Command.OnContract? Command, Refusal? Refusal) Read(HttpContext context, Dictionary<string, string> given, string key)
    {
        var line = FormLine.Of(SignFields, given);
        line["do"] = "sign";
        line["key"] = key;
        line["by"] = context.User.Name();
        line.TryAdd("accessories", new JsonArray());
        var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line.ToJsonString()));
        return (read?.Command as Command.OnContract, refusal);
    }

    /// <summary>A form begins with what was signed last, or with a contract that is named: the terms and the place, never the family or the unit.</summary>
    private static async Task SuggestAsync(Dictionary<string, string> given, ContractsStore store, Instant now, CancellationToken stop)
    {
        var today = Say.Iso(now.InZone(Terminal.Session.Zone).Date);
        given.TryAdd("startOn", today);
        given.TryAdd("on", today);
        var like = given.GetValueOrDefault("like") ?? await store.Finder.LastSignedAsync(stop);
        if (like is null || await store.Reader.HistoryAsync(like, now, stop) is not { IsSigned: true } history) { return; }
        given.TryAdd("state", history.Signing.State);
        given.TryAdd("jurisdiction", history.Signing.Jurisdiction);
        given.TryAdd("instrument.kind", history.Signing.Instrument.Kind);
        foreach (var (name, value) in OfferFields.Of(history.Signing.Terms)) { given.TryAdd(name, value); }
    }

    private static string Key(Dictionary<string, string> given) => given.GetValueOrDefault("key") is { Length: > 0 } same ? same : $"page-{Guid.NewGuid():N}";

    private static Microsoft.AspNetCore.Http.HttpResults.RazorComponentResult Refused(HttpContext context, OfferModel model, Refusal refusal) =>
        PageHost.Of<OfferPage>(context, model with { Refusal = refusal }, Terminal.Problem.Status(refusal.Code));
}
