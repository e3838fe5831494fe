using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Host.Counter;
using Contracts.Host.Households;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using NodaTime;
using Wolverine;

namespace Contracts.Host.Serving.Pages;

/// <summary>A family's contracts as their page shows them.</summary>
/// <param name="Look">The statement.</param>
/// <param name="At">Up to when it was looked at what was recorded.</param>
/// <param name="Known">The same as it was asked for; empty is now.</param>
/// <param name="Query">The question as the address has it.</param>
/// <param name="MayPay">Whether who looks may take money.</param>
/// <param name="Given">The fields of the payment as they were filled in.</param>
/// <param name="Key">The payment's key: the same for what is shown and what is done, so that a second click changes nothing.</param>
/// <param name="Shares">How the payment would be dealt out, or null where none was asked about.</param>
/// <param name="Refusal">Why it cannot be taken so, or null.</param>
public sealed record HouseholdModel(
    HouseholdLook Look, Instant At, string Known, string Query, bool MayPay, IReadOnlyDictionary<string, string> Given, string Key,
    IReadOnlyList<EntryShare>? Shares, Refusal? Refusal);

/// <summary>The page of all contracts of a family: how they stand, what moved it, and one payment over them.</summary>
internal static class HouseholdPages
{
    private const string Route = "/household/{household}";

    /// <summary>The field of what one contract is paid.</summary>
    public static string FieldOf(string contract) => $"share.{contract}";

    /// <summary>The fields of a payment, as on one contract.</summary>
    public static IEnumerable<DeedField> Fields => Deeds.Find("pay")!.Fields;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage(Route, ShowAsync);
        routes.MapPost(Route, PayAsync).RequireAuthorization(policy => policy.RequireClaim(Roles.Claim, [.. CommandDoors.For("pay-household")]))
            .WithMetadata(PageHost.All.First(one => one.Route == Route)).ExcludeFromDescription().AddEndpointFilter(PageHost.RecordAsync);
    }

    private static async Task<IResult> ShowAsync(
        HttpContext context, ContractsStore store, string household, string? from, string? through, string? known, CancellationToken stop)
    {
        var (look, question, refusal) = await HouseholdEndpoint.ReadAsync(store, household, from, through, known, null, stop);
        if (look is null) { return PageHost.Refused(context, refusal!); }
        var given = FormLine.Given(context.Request.Query);
        var model = ModelOf(context, look, question, known, given);
        if (!model.MayPay || !given.ContainsKey("amount"))
        {
            given["on"] = Say.Iso(question.On);
            return PageHost.Of<HouseholdPage>(context, model);
        }

        var key = given.GetValueOrDefault("key") is { Length: > 0 } same ? same : $"page-{Guid.NewGuid():N}";
        var (command, fault) = Read(context, household, given, look, key);
        if (command is null) { return Again(context, model with { Refusal = fault }); }
        // What is shown is dealt out on the day and on what is known of the payment, whatever span the statement is of.
        var asked = new HouseholdQuestion(household, null, command.On, await store.Reader.NowAsync(stop), command.Amount) { Shares = command.Shares };
        var (dealt, stands) = await HouseholdLook.ReadAsync(store, asked, stop);
        return dealt is null
            ? Again(context, model with { Refusal = stands })
            : PageHost.Of<HouseholdPage>(context, model with { Key = key, Shares = dealt.Shares });
    }

    /// <summary>Records it as it was shown: with the shares that were, whatever has been paid in between.</summary>
    private static async Task<IResult> PayAsync(HttpContext context, ContractsStore store, IMessageBus bus, string household, CancellationToken stop)
    {
        var given = FormLine.Given(await context.Request.ReadFormAsync(stop));
        var (look, question, refusal) = await HouseholdEndpoint.ReadAsync(store, household, null, null, null, null, stop);
        if (look is null) { return PageHost.Refused(context, refusal!); }
        (var command, refusal) = Read(context, household, given, look, given.GetValueOrDefault("key") ?? "");
        if (command is not null)
        {
            Instant? at = store.Settings.SimulatedClock ? await store.Reader.NowAsync(stop) : null;
            var answers = await bus.InvokeAsync<CommandAnswers>(RequestTrace.MessageFor(new CommandRequest(command, at)), stop);
            if ((answers.Results[0] as CommandResult.Refused)?.Refusal is not { } against)
            {
                return Results.Redirect($"/household/{Uri.EscapeDataString(household)}?done=pay-household#movements");
            }

            refusal = against;
        }

        return Again(context, ModelOf(context, look, question, null, given) with { Refusal = refusal });
    }

    private static HouseholdModel ModelOf(HttpContext context, HouseholdLook look, Question question, string? known, Dictionary<string, string> given) => new(
        look, question.Known.At, known ?? "", context.Request.QueryString.Value ?? "",
        CommandDoors.For("pay-household").Contains(context.User.Role()) && known is not { Length: > 0 },
        given, "", null, null);

    private static Microsoft.AspNetCore.Http.HttpResults.RazorComponentResult Again(HttpContext context, HouseholdModel model) =>
        PageHost.Of<HouseholdPage>(context, model, Terminal.Problem.Status(model.Refusal!.Code));

    /// <summary>The command as a line of a command file, read by the same reader; who sends it is who is signed in.</summary>
    private static (Command.PayHousehold? Command, Refusal? Refusal) Read(
        HttpContext context, string household, Dictionary<string, string> given, HouseholdLook look, string key)
    {
        var line = FormLine.Of(Fields.Prepend(new DeedField("on", "On the day", FieldKind.Day)), given);
        var shares = new JsonArray();
        foreach (var contract in look.Statement.Contracts.Select(one => one.Contract))
        {
            if (given.GetValueOrDefault(FieldOf(contract)) is not { Length: > 0 } amount) { continue; }
            shares.Add(new JsonObject { ["contract"] = contract, ["amount"] = amount });
        }

        if (shares.Count > 0) { line["shares"] = shares; }
        line["do"] = "pay-household";
        line["household"] = household;
        line["key"] = key;
        line["by"] = context.User.Name();
        var (read, refusal) = CommandReader.Read(System.Text.Encoding.UTF8.GetBytes(line.ToJsonString()));
        return (read?.Command as Command.PayHousehold, refusal);
    }
}
