using System.ComponentModel;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;

namespace Contracts.Host.Serving.Api;

/// <summary>Contracts by what is in hand.</summary>
internal static class FindEndpoints
{
    public static void Map(IEndpointRouteBuilder routes) => routes.MapDoor(Doors.Find, FindAsync);

    private static async Task<IResult> FindAsync(
        HttpContext context, ContractsStore store,
        [Description(FindCommand.WhatFinds)] string? q, CancellationToken stop) =>
        Answers.Json(FindCommand.Json(await FindCommand.LookAsync(
            store, q ?? "", Doors.Papers.Roles.Contains(context.User.Role()), (context.User.Name(), ReadRecorder.PurposeOf(context.Request)), stop)));
}
