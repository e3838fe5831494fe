using Contracts.Explain;
using Contracts.Host.Serving.Api;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Serving.Pages;

/// <summary>A statement as its page shows it.</summary>
/// <param name="Statement">The statement.</param>
/// <param name="At">Up to when it was looked at what was recorded.</param>
/// <param name="Known">The same as it was asked for; empty is now.</param>
/// <param name="Query">The question as the address has it.</param>
public sealed record StatementModel(AccountStatement Statement, Instant At, string Known, string Query);

/// <summary>The page of one contract over a span of days.</summary>
internal static class StatementPages
{
    public static void Map(IEndpointRouteBuilder routes) => routes.MapPage("/account/{contract}/statement", StatementAsync);

    private static async Task<IResult> StatementAsync(
        HttpContext context, ContractsStore store, string contract, string? from, string? through, string? known, CancellationToken stop)
    {
        var (statement, question, refusal) = await StatementEndpoint.ReadAsync(store, contract, from, through, known, stop);
        return statement is null
            ? PageHost.Refused(context, refusal!)
            : PageHost.Of<StatementPage>(context, new StatementModel(statement, question.Known.At, known ?? "", context.Request.QueryString.Value ?? ""));
    }
}
