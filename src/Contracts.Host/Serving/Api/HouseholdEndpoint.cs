using System.ComponentModel;
using Contracts.Agreements;
using Contracts.Host.Households;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Microsoft.OpenApi;
using NodaTime;
using static Contracts.Host.Serving.Api.Shapes;

namespace Contracts.Host.Serving.Api;

/// <summary>All contracts of a family over a span of days.</summary>
internal static class HouseholdEndpoint
{
    public static void Map(IEndpointRouteBuilder routes) => routes.MapDoor(Doors.Household, StatementAsync);

    /// <summary>Reads the question and answers it, for route and page; exactly one of the answers is given.</summary>
    internal static async Task<(HouseholdLook? Look, Question Question, Refusal? Refusal)> ReadAsync(
        ContractsStore store, string household, string? from, string? through, string? known, string? pay, CancellationToken stop)
    {
        LocalDate? first = null;
        if (from is { Length: > 0 } && (first = Terminal.CommonOptions.ParseDay(from)) is null)
        {
            return (null, default, new Refusal(RefusalCode.DateInvalid, "'from' must be a day such as 2026-01-01.", "from"));
        }

        var (amount, fault) = HouseholdStatementCommand.Amount(pay);
        if (fault is not null) { return (null, default, fault); }
        var (question, refusal) = await Question.ReadAsync(store, through, known, stop, "through");
        if (refusal is not null) { return (null, question, refusal); }
        var (look, stands) = await HouseholdLook.ReadAsync(store, new HouseholdQuestion(household, first, question.On, question.Known, amount), stop);
        return (look, question, stands);
    }

    /// <summary>The shape of the answer.</summary>
    public static OpenApiSchema Shape() => Closed(
        "All contracts of a family over a span of days; the balance before and the movements make the balance after (docs/interface.md).",
        ("household", Text()), ("from", Day()), ("through", Day()), ("known", Moment()),
        ("contracts", List(Closed(
            null, ("contract", Text()), ("kind", Text()), ("serial", Text()), ("status", Text("How it stands on the last day.")),
            ("opening", ReasonShapes.StatementFigures("At the end of the day before the first.")), ("closing", ReasonShapes.StatementFigures("At the end of the last day.")),
            ("nextDue?", Closed("The next installment; missing where none will fall due.", ("on", Day()), ("amount", Money())))))),
        ("opening", Money("What was owed less what waited before the first day, over all contracts.")),
        ("movements", List(Closed(null, [("contract", Text()), .. ReasonShapes.MovementMembers("The family's balance after it.")]))),
        ("closing", Money("The same at the end of the last day.")), ("pastDue", Money("What is past due over all contracts.")),
        ("shares?", List(Closed("How the payment that was asked about would be dealt out.", ("contract", Text()), ("amount", Money())))));

    private static async Task<IResult> StatementAsync(
        ContractsStore store, [Description("The household's reference.")] string household,
        [Description("The first day; the day of the first signing when left out.")] string? from,
        [Description("The last day, such as 2026-12-31; today when left out.")] string? through, [Description(Words.Known)] string? known,
        [Description("An amount such as 60.00: how a payment of it, made on the last day, would be dealt out. Nothing is recorded.")] string? pay, CancellationToken stop)
    {
        var (look, question, refusal) = await ReadAsync(store, household, from, through, known, pay, stop);
        return look is null ? Answers.Refused(refusal!) : Answers.Json(look.Json(question.Known.At));
    }
}
