using System.Globalization;
using Contracts.Host.Serving.Api;
using Contracts.Store;
using Contracts.Store.Callers;
using Microsoft.AspNetCore.Authentication;
using NodaTime;

namespace Contracts.Host.Serving.SignIn;

/// <summary>The pages to sign in and out, and to say why one reads.</summary>
internal static class SignInPages
{
    private const string OpenIdPath = PageRequests.SignInPath + "/openid";
    private const string DemoPath = PageRequests.SignInPath + "/demo";
    private const string OutPath = "/sign-out";
    private const string PurposePath = "/purpose";

    /// <summary>The same words whether there is such a name, the password is wrong, or the person was shut out.</summary>
    private const string Wrong = "Name and password do not go together here.";

    public static void Map(IEndpointRouteBuilder routes, SignInSettings settings)
    {
        Open(routes.MapGet(PageRequests.SignInPath, (HttpContext context, string? next, string? failed) =>
            SignIn(context, settings, next, "", failed is null ? null : "The other provider did not say who you are, or gave you no role here.", StatusCodes.Status200OK)));
        // Where the data are invented nobody has a name, and where they are not nobody comes in without one.
        if (settings.Demo) { Open(routes.MapPost(DemoPath, (Delegate)DemoAsync)); }
        else { Open(routes.MapPost(PageRequests.SignInPath, SendAsync)).RequireRateLimiting(SignInSetup.Attempts); }

        if (settings.OpenId is not null)
        {
            Open(routes.MapGet(OpenIdPath, (string? next) =>
                Results.Challenge(new AuthenticationProperties { RedirectUri = PageRequests.Next(next) }, [OpenId.Way])));
        }

        routes.MapGet(OutPath, (Delegate)AskOut).RequireAuthorization().ExcludeFromDescription();
        routes.MapPost(OutPath, (Delegate)OutAsync).RequireAuthorization().ExcludeFromDescription();
        routes.MapGet(PurposePath, AskPurpose).RequireAuthorization().ExcludeFromDescription();
        routes.MapPost(PurposePath, (Delegate)PurposeAsync).RequireAuthorization().ExcludeFromDescription();
        static RouteHandlerBuilder Open(RouteHandlerBuilder route) => route.AllowAnonymous().ExcludeFromDescription();
    }

    private static async Task<IResult> SendAsync(HttpContext context, ContractsStore store, Passwords passwords, SignInSettings settings)
    {
        var stop = context.RequestAborted;
        var form = await context.Request.ReadFormAsync(stop);
        var (name, password, next) = (form["name"].ToString(), form["password"].ToString(), form["next"].ToString());
        if (Passwords.AgainstName(name) is not null)
        {
            passwords.Matches(null, password, out _);
            return SignIn(context, settings, next, "", Wrong, StatusCodes.Status403Forbidden);
        }

        // Counted before it is looked at, looked up and compared whatever there is: no answer comes sooner than another.
        var locked = await store.Attempts.BeginAsync(name, stop);
        var person = await store.People.FindAsync(name, stop);
        var right = passwords.Matches(person, password, out var isOld);
        if (locked is { } until)
        {
            context.Response.Headers.RetryAfter = ApiProblems.Seconds(TimeSpan.FromMinutes(Attempts.LockedMinutes));
            var at = until.InZone(store.Settings.Zone).ToString("HH:mm", CultureInfo.InvariantCulture);
            return SignIn(
                context, settings, next, name, $"After {Attempts.Most} wrong attempts nobody signs in by this name until {at}.", StatusCodes.Status429TooManyRequests);
        }

        if (!right || person is not { DisabledAt: null }) { return SignIn(context, settings, next, name, Wrong, StatusCodes.Status403Forbidden); }
        await store.Attempts.SucceededAsync(name, stop);
        if (isOld)
        {
            await store.People.SetPasswordAsync(person.Name, passwords.Hash(password), person.Name, stop);
            person = await store.People.FindAsync(name, stop) ?? person;
        }

        await PersonSession.BeginAsync(context, person, Purposes.Of(form["purpose"]));
        return Results.LocalRedirect(PageRequests.Next(next));
    }

    private static async Task<IResult> DemoAsync(HttpContext context)
    {
        var form = await context.Request.ReadFormAsync(context.RequestAborted);
        var role = form["role"].ToString();
        if (!Roles.All.Contains(role)) { return ApiProblems.RequestUnreadable.Result(); }
        await PersonSession.BeginDemoAsync(context, role);
        return Results.LocalRedirect(PageRequests.Next(form["next"]));
    }

    private static IResult SignIn(HttpContext context, SignInSettings settings, string? next, string name, string? fault, int status)
    {
        var hidden = SignInMarkup.Hidden("next", PageRequests.Next(next));
        var body = settings.Demo
            ? "<p><strong>Everything here is invented:</strong> the shop, its families, their instruments and money. So nobody asks for a password.</p>"
                + SignInMarkup.Form(
                    context, DemoPath, "Look around",
                    $"{hidden}<p><label for=\"role\">As whom</label><br><select id=\"role\" name=\"role\">"
                    + string.Concat(Roles.All.Select(role => $"<option>{role}</option>")) + "</select></p>")
            : SignInMarkup.Form(
                context, PageRequests.SignInPath, "Sign in",
                hidden
                + SignInMarkup.Field("name", "Name", "required maxlength=\"100\" autocomplete=\"username\"", name)
                + SignInMarkup.Field("password", "Password", "type=\"password\" required autocomplete=\"current-password\"")
                + PurposeField(""));
        var other = settings.OpenId is null
            ? ""
            : $"<p><a href=\"{OpenIdPath}?next={Uri.EscapeDataString(PageRequests.Next(next))}\">Sign in with your organisation's account</a></p>";
        return SignInMarkup.Page("Sign in", SignInMarkup.Alert(fault) + body + other, status);
    }

    private static IResult AskOut(HttpContext context) => SignInMarkup.Page(
        "Sign out",
        $"<p>Signed in as {SignInMarkup.Text(context.User.Name())}, {SignInMarkup.Text(context.User.Role())}.</p>"
        + SignInMarkup.Form(context, OutPath, "Sign out", "") + "<p><a href=\"/\">Stay</a></p>");

    private static async Task<IResult> OutAsync(HttpContext context)
    {
        await PersonSession.EndAsync(context);
        await context.SignOutAsync(PersonSession.Way);
        return Results.LocalRedirect(PageRequests.SignInPath);
    }

    private static IResult AskPurpose(HttpContext context, string? next) => SignInMarkup.Page(
        "Why you read",
        "<p>Every account that you look at is written down, with your name and this purpose.</p>"
        + SignInMarkup.Form(
            context, PurposePath, "Keep",
            SignInMarkup.Hidden("next", PageRequests.Next(next)) + PurposeField(context.User.Purpose() is { } now and not Purposes.NotSaid ? now : "")));

    private static async Task<IResult> PurposeAsync(HttpContext context)
    {
        var form = await context.Request.ReadFormAsync(context.RequestAborted);
        if (context.User.IsPerson()) { await PersonSession.ChangePurposeAsync(context, Purposes.Of(form["purpose"])); }
        return Results.LocalRedirect(PageRequests.Next(form["next"]));
    }

    private static string PurposeField(string? now) => SignInMarkup.Field(
        "purpose", "Why you read accounts today (may be left out)", $"maxlength=\"{Purposes.Longest}\" autocomplete=\"off\"", now);
}
