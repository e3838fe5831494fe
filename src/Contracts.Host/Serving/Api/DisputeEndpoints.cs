using System.ComponentModel;
using Contracts.Host.Disputes;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;

namespace Contracts.Host.Serving.Api;

/// <summary>Disputes over HTTP; what is recorded of one is a command like all others.</summary>
internal static class DisputeEndpoints
{
    public static void Map(IEndpointRouteBuilder routes) => routes.MapDoor(Doors.Disputes, ListAsync).WithRequestTimeout(ApiHost.Many);

    private static async Task<IResult> ListAsync(
        ContractsStore store, [Description("Only those of one contract.")] string? contract, [Description("all for those that are closed too.")] string? status,
        [Description(Words.On)] string? on, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        var one = contract is { Length: > 0 } ? contract : null;
        return Answers.Json(DisputesPrinter.Json(await DisputesLook.ReadAsync(store, question.On, question.Known, one, status == "all", stop)));
    }
}
