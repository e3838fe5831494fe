using System.ComponentModel;
using Contracts.Host.Disputes;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;

namespace Contracts.Host.Serving.Api;

/// <summary>What takes two persons: the list of what was proposed. Proposing and deciding are commands like all others.</summary>
internal static class ProposalEndpoints
{
    public static void Map(IEndpointRouteBuilder routes) => routes.MapDoor(Doors.Proposals, ListAsync);

    private static async Task<IResult> ListAsync(
        ContractsStore store, [Description("open for those that nobody has decided on.")] string? status,
        [Description("Only those about one contract.")] string? contract, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, null, known, stop);
        return refusal is not null
            ? Answers.Refused(refusal)
            : Answers.Json(ProposalsCommand.Json(ProposalsCommand.Choose(await store.Proposals.ListAsync(question.Known.At, stop), status == "open", contract)));
    }
}
