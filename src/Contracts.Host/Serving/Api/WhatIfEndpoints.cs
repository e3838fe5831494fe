using System.ComponentModel;
using Contracts.Host.Disputes;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;

namespace Contracts.Host.Serving.Api;

/// <summary>What would be, had one thing been otherwise: a question in a body, because it is too long for an address. Nothing is recorded but who looked.</summary>
internal static class WhatIfEndpoints
{
    public static void Map(IEndpointRouteBuilder routes) => routes.MapDoor(Doors.WhatIf, WhatIfAsync);

    private static async Task<IResult> WhatIfAsync(
        HttpContext context, ContractsStore store, ApiSettings settings, [Description(Words.Contract)] string contract, [Description(Words.On)] string? on,
        [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (body, problem) = await Bodies.ReadAsync(context.Request, settings, stop);
        if (problem is not null) { return problem.Result(); }
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        (var look, refusal) = await WhatIfLook.OfAsync(store, contract, body, question.On, question.Known, string.IsNullOrEmpty(known), stop);
        return look is null ? Answers.Refused(refusal!) : Answers.Json(look.Json());
    }
}
