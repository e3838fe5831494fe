using Contracts.Host.Serving.Api;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Authorization.Policy;

namespace Contracts.Host.Serving.SignIn;

/// <summary>Says who was kept out of the API, and which role would do. Pages are left to the framework's own ways.</summary>
public sealed class DoorKeeper : IAuthorizationMiddlewareResultHandler
{
    private readonly AuthorizationMiddlewareResultHandler usual = new();

    public async Task HandleAsync(RequestDelegate next, HttpContext context, AuthorizationPolicy policy, PolicyAuthorizationResult authorizeResult)
    {
        if (context.GetEndpoint()?.Metadata.GetMetadata<Door>() is not { } door || authorizeResult.Succeeded || PageRequests.IsPage(context.Request))
        {
            // Where there is no such route, "not found" is the better answer than a closed door.
            if (context.GetEndpoint() is null) { await next(context); }
            else { await usual.HandleAsync(next, context, policy, authorizeResult); }
        }
        else if (authorizeResult.Challenged)
        {
            context.Response.Headers.WWWAuthenticate = "Bearer";
            await (KeyHandler.FaultOf(context) ?? ApiProblems.KeyMissing).WriteAsync(context);
        }
        else
        {
            await Forbidden(context, door.Roles, $"The role {context.User.Role()} may not use {door}.").ExecuteAsync(context);
        }
    }

    /// <summary>A role that does not do, and those that would.</summary>
    public static IResult Forbidden(HttpContext context, IReadOnlyList<string> roles, string detail) =>
        ApiProblems.RoleForbids.With($"{detail} {Words(roles)}", json =>
        {
            json.WriteString("role", context.User.Role());
            json.WriteStartArray("roles");
            foreach (var role in roles) { json.WriteStringValue(role); }
            json.WriteEndArray();
        });

    private static string Words(IReadOnlyList<string> roles) => roles.Count == 0 ? "No role may." : $"It takes one of: {string.Join(", ", roles)}.";
}
