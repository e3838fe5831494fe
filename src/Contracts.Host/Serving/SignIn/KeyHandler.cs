using System.Security.Claims;
using System.Text.Encodings.Web;
using Contracts.Host.Serving.Api;
using Contracts.Store;
using Microsoft.AspNetCore.Authentication;
using Microsoft.Extensions.Options;

namespace Contracts.Host.Serving.SignIn;

/// <summary>Signs a program in by its API key, <c>Authorization: Bearer</c>. The key becomes a name and a role, and nothing else of it is kept.</summary>
public sealed class KeyHandler(
    IOptionsMonitor<AuthenticationSchemeOptions> options, ILoggerFactory logger, UrlEncoder encoder, ContractsStore store)
    : AuthenticationHandler<AuthenticationSchemeOptions>(options, logger, encoder)
{
    /// <summary>The name of this way to sign in.</summary>
    public const string Way = "key";

    private const string Bearer = "Bearer ";
    private const int LongestKey = 200;

    /// <summary>Whether a request comes with a key, good or not.</summary>
    internal static bool HasKey(HttpRequest request) => request.Headers.Authorization.ToString().StartsWith(Bearer, StringComparison.OrdinalIgnoreCase);

    protected override async Task<AuthenticateResult> HandleAuthenticateAsync()
    {
        var header = Request.Headers.Authorization.ToString();
        if (!header.StartsWith(Bearer, StringComparison.OrdinalIgnoreCase)) { return AuthenticateResult.NoResult(); }
        var text = header[Bearer.Length..].Trim();
        if (text.Length > LongestKey || await store.Keys.FindAsync(text, Context.RequestAborted) is not { } key) { return Fails(ApiProblems.KeyUnknown); }
        if (key.RevokedAt is not null) { return Fails(ApiProblems.KeyRevoked); }
        if (key.IsOver) { return Fails(ApiProblems.KeyExpired); }
        var identity = new ClaimsIdentity([new Claim(Roles.NameClaim, key.Name), new Claim(Roles.Claim, key.Role)], Way, Roles.NameClaim, Roles.Claim);
        return AuthenticateResult.Success(new AuthenticationTicket(new ClaimsPrincipal(identity), Way));
    }

    /// <summary>Which problem kept the key of a request out, or null where there was no key.</summary>
    internal static ApiProblem? FaultOf(HttpContext context) => context.Items[typeof(KeyHandler)] as ApiProblem;

    private AuthenticateResult Fails(ApiProblem problem)
    {
        // The framework forgets why somebody is not signed in.
        Context.Items[typeof(KeyHandler)] = problem;
        return AuthenticateResult.Fail(problem.Code);
    }
}
