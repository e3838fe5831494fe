using System.ComponentModel;
using Contracts.Agreements;
using Contracts.Explain;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Serving.Api;

/// <summary>One contract over a span of days.</summary>
internal static class StatementEndpoint
{
    public static void Map(IEndpointRouteBuilder routes) => routes.MapDoor(Doors.Statement, StatementAsync);

    /// <summary>Reads the question and makes the statement, for route and page; exactly one of the answers is given.</summary>
    internal static async Task<(AccountStatement? Statement, Question Question, Refusal? Refusal)> ReadAsync(
        ContractsStore store, string contract, string? from, string? through, string? known, CancellationToken stop)
    {
        LocalDate? first = null;
        if (from is { Length: > 0 } && (first = Terminal.CommonOptions.ParseDay(from)) is null)
        {
            return (null, default, new Refusal(RefusalCode.DateInvalid, "'from' must be a day such as 2026-01-01.", "from"));
        }

        var (question, history, rates, refusal) = await Question.ReadOneAsync(store, contract, through, known, stop, "through");
        if (refusal is not null) { return (null, question, refusal); }
        if (history is not { IsSigned: true } || history.Signing.On > question.On) { return (null, question, AccountEndpoints.Unknown(contract)); }
        return StatementCommand.Backward(first, question.On) is { } backward
            ? (null, question, backward)
            : (AccountStatement.Of(history, rates, first, question.On), question, null);
    }

    private static async Task<IResult> StatementAsync(
        ContractsStore store, [Description(Words.Contract)] string contract, [Description("The first day; the day of signing when left out.")] string? from,
        [Description("The last day, such as 2026-12-31; today when left out.")] string? through, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (statement, question, refusal) = await ReadAsync(store, contract, from, through, known, stop);
        return statement is null ? Answers.Refused(refusal!) : Answers.Json(StatementCommand.Json(statement, question.Known.At));
    }
}
