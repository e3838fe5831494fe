using System.Security.Claims;

namespace Contracts.Host.Serving.SignIn;

/// <summary>Who is at the other end, whichever way they signed in.</summary>
public static class Caller
{
    /// <summary>The name that is recorded.</summary>
    public static string Name(this ClaimsPrincipal user) => user.FindFirstValue(Roles.NameClaim) ?? "not said";

    /// <summary>The role, or an empty text.</summary>
    public static string Role(this ClaimsPrincipal user) => user.FindFirstValue(Roles.Claim) ?? "";
}
