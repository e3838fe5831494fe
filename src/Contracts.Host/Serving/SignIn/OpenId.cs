using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.OpenIdConnect;
using Microsoft.IdentityModel.Protocols.OpenIdConnect;

namespace Contracts.Host.Serving.SignIn;

/// <summary>Another provider that says who somebody is (OpenID Connect, authorization code with PKCE). The session that follows is like any other.</summary>
internal static class OpenId
{
    /// <summary>The name of this way to sign in.</summary>
    public const string Way = "openid";

    /// <summary>Where the provider sends people back to; it has to be told there.</summary>
    public const string Back = "/sign-in/openid/back";

    /// <summary>The claims that may hold a name, the best first.</summary>
    private static readonly string[] Names = ["preferred_username", "name", "email", "sub"];

    public static void Add(AuthenticationBuilder ways, OpenIdSettings provider, bool secure) => ways.AddOpenIdConnect(Way, options =>
    {
        options.Authority = provider.Authority.AbsoluteUri;
        options.RequireHttpsMetadata = provider.Authority.Scheme == "https";
        options.ClientId = provider.Client;
        options.ClientSecret = provider.Secret;
        options.SignInScheme = PersonSession.Way;
        options.CallbackPath = Back;
        options.ResponseType = OpenIdConnectResponseType.Code;
        // Coming back by a navigation and not by a form: the cookies that remember state and nonce may then be lax.
        options.ResponseMode = OpenIdConnectResponseMode.Query;
        options.UsePkce = true;
        options.MapInboundClaims = false;
        options.SaveTokens = false;
        foreach (var cookie in new[] { options.CorrelationCookie, options.NonceCookie })
        {
            cookie.SameSite = SameSiteMode.Lax;
            cookie.SecurePolicy = secure ? CookieSecurePolicy.Always : CookieSecurePolicy.SameAsRequest;
        }

        options.Events.OnTokenValidated = async context =>
        {
            var said = context.Principal!;
            var roles = said.FindAll(provider.RoleClaim).Select(claim => claim.Value).Where(Roles.All.Contains).Distinct().ToList();
            // With none nobody comes in, and which of two is meant is nobody's guess.
            if (roles is not [var role] || Names.Select(name => said.FindFirst(name)?.Value).FirstOrDefault(value => !string.IsNullOrWhiteSpace(value)) is not { } found)
            {
                context.Fail("The provider gave no role of this host, or more than one.");
                return;
            }

            await PersonSession.EndAsync(context.HttpContext);
            context.Principal = PersonSession.OfOpenId(context.HttpContext, found, role);
        };
        options.Events.OnRemoteFailure = context =>
        {
            context.Response.Redirect($"{PageRequests.SignInPath}?failed=1");
            context.HandleResponse();
            return Task.CompletedTask;
        };
    });
}
