using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using Contracts.Store;

namespace Contracts.Host.Serving.SignIn;

/// <summary>
/// The way in for the first person of a store: a code that is random, told on the terminal of whoever starts the host, kept in
/// memory and good once. It opens nothing when there is a person already.
/// </summary>
public sealed class FirstRun
{
    /// <summary>Where it is used.</summary>
    public const string Path = "/first-run";

    private const int CodeBytes = 32;
    private byte[]? code;

    /// <summary>Begins, and gives the path that is to be told.</summary>
    public string Begin()
    {
        var text = Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(CodeBytes));
        Volatile.Write(ref code, Encoding.UTF8.GetBytes(text));
        return $"{Path}?code={text}";
    }

    /// <summary>Whether a code is the one, and not used yet.</summary>
    public bool IsGood(string? given) => Volatile.Read(ref code) is { } right && CryptographicOperations.FixedTimeEquals(right, Encoding.UTF8.GetBytes(given ?? ""));

    /// <summary>Uses the code up; of two at the same moment one does.</summary>
    public bool Use(string? given) => IsGood(given) && Interlocked.Exchange(ref code, null) is not null;
}

/// <summary>The pages of the first run.</summary>
internal static class FirstRunPages
{
    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapGet(FirstRun.Path, ShowAsync).AllowAnonymous().ExcludeFromDescription();
        routes.MapPost(FirstRun.Path, SendAsync).AllowAnonymous().ExcludeFromDescription().RequireRateLimiting(SignInSetup.Attempts);
    }

    private static async Task<IResult> ShowAsync(HttpContext context, FirstRun first, ContractsStore store, string? code) =>
        first.IsGood(code) && !await store.People.AnyAsync(context.RequestAborted) ? Form(context, code, "", null) : Over();

    private static async Task<IResult> SendAsync(HttpContext context, FirstRun first, ContractsStore store, Passwords passwords)
    {
        var form = await context.Request.ReadFormAsync(context.RequestAborted);
        var (code, name, password) = (form["code"].ToString(), form["name"].ToString(), form["password"].ToString());
        if (!first.IsGood(code)) { return Over(); }
        if (Passwords.AgainstName(name) is { } noName) { return Form(context, code, name, noName.Says); }
        if (Passwords.Against(password, name) is { } unfit) { return Form(context, code, name, unfit.Says); }
        if (password != form["again"].ToString()) { return Form(context, code, name, "The two passwords are not the same."); }
        if (!first.Use(code) || !await store.People.AddFirstAsync(name, Roles.Manager, passwords.Hash(password), context.RequestAborted)) { return Over(); }
        var person = await store.People.FindAsync(name, context.RequestAborted) ?? throw new StoreException("The person who was just let in is not there.");
        await PersonSession.BeginAsync(context, person, Purposes.NotSaid);
        return Results.LocalRedirect("/");
    }

    private static IResult Over() => SignInMarkup.Page(
        "This link opens nothing", "<p>It was used, or belongs to an earlier start of the host, or somebody is let in already.</p><p><a href=\"/sign-in\">Sign in</a></p>",
        StatusCodes.Status404NotFound);

    private static IResult Form(HttpContext context, string? code, string name, string? fault) => SignInMarkup.Page(
        "The first person",
        SignInMarkup.Alert(fault)
        + "<p>Nobody is let in yet. Choose your name and a password; you become a manager, and let others in with <code>contracts user add</code>.</p>"
        + SignInMarkup.Form(
            context, FirstRun.Path, "Begin",
            SignInMarkup.Hidden("code", code)
            + SignInMarkup.Field("name", "Your name, as it will be recorded", "required maxlength=\"100\" autocomplete=\"username\"", name)
            + SignInMarkup.Field(
                "password", $"Password, at least {Passwords.Shortest} characters", $"type=\"password\" required minlength=\"{Passwords.Shortest}\" autocomplete=\"new-password\"")
            + SignInMarkup.Field("again", "The password again", "type=\"password\" required autocomplete=\"new-password\"")),
        fault is null ? StatusCodes.Status200OK : StatusCodes.Status422UnprocessableEntity);
}
