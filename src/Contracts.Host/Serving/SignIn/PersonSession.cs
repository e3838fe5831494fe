using System.Buffers.Text;
using System.Globalization;
using System.Security.Claims;
using System.Security.Cryptography;
using Contracts.Host.Serving.Api;
using Contracts.Store;
using Contracts.Store.Callers;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;

namespace Contracts.Host.Serving.SignIn;

/// <summary>
/// A person's session: a cookie that the host has sealed, with the same two claims as a key has. It ends after a time without a
/// request, after a longer time in any case, by signing out, and when the person is shut out or gets another password.
/// </summary>
public static class PersonSession
{
    /// <summary>The name of this way to sign in.</summary>
    public const string Way = "person";

    /// <summary>The cookie over https; the prefix binds it to this host, to https and to the whole of it.</summary>
    public const string SecureCookie = "__Host-contracts";

    /// <summary>The cookie on a loopback address by plain http, where browsers refuse the prefix.</summary>
    public const string LoopbackCookie = "contracts";

    /// <summary>The claim that says why somebody reads.</summary>
    public const string PurposeClaim = "purpose";

    /// <summary>After how long without a request a session ends.</summary>
    public static readonly TimeSpan Idle = TimeSpan.FromHours(8);

    /// <summary>After how long it ends in any case.</summary>
    public static readonly TimeSpan Whole = TimeSpan.FromHours(12);

    // Antiforgery binds its tokens to this claim, so a form belongs to one session.
    private const string SessionClaim = "sub";
    private const string BeganClaim = "began";
    private const string ByClaim = "by";
    private const string PasswordClaim = "password";
    private const int SessionBytes = 32;

    /// <summary>How somebody came in.</summary>
    private const string ByPassword = "password";
    private const string ByDemo = "demo";
    private const string ByOpenId = "openid";

    /// <summary>Why this person reads, as they said, or null for whoever is no person.</summary>
    public static string? Purpose(this ClaimsPrincipal user) => user.FindFirstValue(PurposeClaim);

    /// <summary>Whether it is a person with a cookie, and no program with a key.</summary>
    public static bool IsPerson(this ClaimsPrincipal user) => user.Identity is { IsAuthenticated: true, AuthenticationType: Way };

    /// <summary>Begins a session of a person who gave the password.</summary>
    public static Task BeginAsync(HttpContext context, Person person, string purpose) =>
        BeginAsync(context, person.Name, person.Role, ByPassword, person.Password, purpose);

    /// <summary>Begins a session of the demo.</summary>
    public static Task BeginDemoAsync(HttpContext context, string role) => BeginAsync(context, $"Demo {role}", role, ByDemo, 0, "a look at the demo");

    /// <summary>Whom another provider has named, as a session that begins.</summary>
    public static ClaimsPrincipal OfOpenId(HttpContext context, string name, string role) => Principal(name, role, ByOpenId, 0, Purposes.NotSaid, Now(context));

    /// <summary>The same session, for another purpose.</summary>
    public static Task ChangePurposeAsync(HttpContext context, string purpose)
    {
        var claims = context.User.Claims.Where(claim => claim.Type != PurposeClaim).Append(new Claim(PurposeClaim, purpose));
        return context.SignInAsync(Way, new ClaimsPrincipal(new ClaimsIdentity(claims, Way, Roles.NameClaim, Roles.Claim)));
    }

    /// <summary>Ends the session that a request came with, if it came with one: here, and in every copy of the cookie.</summary>
    public static async Task EndAsync(HttpContext context)
    {
        if ((await context.AuthenticateAsync(Way)).Principal?.FindFirstValue(SessionClaim) is { } session)
        {
            await context.RequestServices.GetRequiredService<ContractsStore>().Sessions.EndAsync(session, context.RequestAborted);
        }
    }

    internal static void Set(CookieAuthenticationOptions options, SignInSettings settings)
    {
        options.Cookie.Name = settings.Secure ? SecureCookie : LoopbackCookie;
        options.Cookie.HttpOnly = true;
        options.Cookie.Path = "/";
        options.Cookie.SecurePolicy = settings.Secure ? CookieSecurePolicy.Always : CookieSecurePolicy.None;
        // Coming back from another provider is a navigation from another site, which a strict cookie would not survive.
        options.Cookie.SameSite = settings.OpenId is null ? SameSiteMode.Strict : SameSiteMode.Lax;
        options.ExpireTimeSpan = Idle;
        options.SlidingExpiration = true;
        options.Events.OnValidatePrincipal = async context =>
        {
            if (await StandsAsync(context.HttpContext, context.Principal!, settings)) { return; }
            context.RejectPrincipal();
        };
        options.Events.OnRedirectToLogin = context =>
        {
            var request = context.Request;
            return PageRequests.IsPage(request)
                ? Results.LocalRedirect(PageRequests.SignInFor(request)).ExecuteAsync(context.HttpContext)
                : ApiProblems.KeyMissing.WriteAsync(context.HttpContext);
        };
        options.Events.OnRedirectToAccessDenied = context => PageRequests.IsPage(context.Request)
            ? SignInMarkup.Page(
                "Not for this role", $"<p>The role {SignInMarkup.Text(context.HttpContext.User.Role())} may not see this page.</p><p><a href=\"/\">Back</a></p>",
                StatusCodes.Status403Forbidden).ExecuteAsync(context.HttpContext)
            : ApiProblems.RoleForbids.WriteAsync(context.HttpContext);
    }

    private static async Task BeginAsync(HttpContext context, string name, string role, string by, long password, string purpose)
    {
        await EndAsync(context);
        await context.SignInAsync(Way, Principal(name, role, by, password, purpose, Now(context)));
    }

    /// <summary>Every session has a number of its own, which nobody could know before.</summary>
    private static ClaimsPrincipal Principal(string name, string role, string by, long password, string purpose, DateTimeOffset began) =>
        new(new ClaimsIdentity(
            [
                new Claim(Roles.NameClaim, name), new Claim(Roles.Claim, role), new Claim(PurposeClaim, purpose), new Claim(ByClaim, by),
                new Claim(SessionClaim, Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(SessionBytes))),
                new Claim(BeganClaim, began.ToUnixTimeSeconds().ToString(CultureInfo.InvariantCulture)),
                new Claim(PasswordClaim, password.ToString(CultureInfo.InvariantCulture)),
            ],
            Way, Roles.NameClaim, Roles.Claim));

    private static async Task<bool> StandsAsync(HttpContext context, ClaimsPrincipal user, SignInSettings settings)
    {
        if (user.FindFirstValue(SessionClaim) is not { } session || !long.TryParse(user.FindFirstValue(BeganClaim), CultureInfo.InvariantCulture, out var began)
            || DateTimeOffset.FromUnixTimeSeconds(began) + Whole <= Now(context)
            || !long.TryParse(user.FindFirstValue(PasswordClaim), CultureInfo.InvariantCulture, out var password))
        {
            return false;
        }

        var name = user.Name();
        var (mayBe, person) = user.FindFirstValue(ByClaim) switch
        {
            ByPassword => (true, name),
            ByDemo => (settings.Demo, null),
            ByOpenId => (settings.OpenId is not null, null),
            _ => (false, null),
        };
        return mayBe && await context.RequestServices.GetRequiredService<ContractsStore>().Sessions.StandsAsync(session, person, password, context.RequestAborted);
    }

    private static DateTimeOffset Now(HttpContext context) => (context.RequestServices.GetService<TimeProvider>() ?? TimeProvider.System).GetUtcNow();
}
