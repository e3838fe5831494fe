using Contracts.Host.Serving.Api;
using Microsoft.AspNetCore.Antiforgery;

namespace Contracts.Host.Serving.SignIn;

/// <summary>
/// Whatever changes something for a person must come from a form of this host: a browser sends its cookie with anything. Programs
/// send a key, which no browser adds by itself, and need none of it.
/// </summary>
internal static class FormGuard
{
    /// <summary>The header that carries the token where there is no form, as under /v1.</summary>
    public const string Header = "X-CSRF";

    public static async Task GuardAsync(HttpContext context, RequestDelegate next)
    {
        var request = context.Request;
        var changes = !(HttpMethods.IsGet(request.Method) || HttpMethods.IsHead(request.Method) || HttpMethods.IsOptions(request.Method) || HttpMethods.IsTrace(request.Method));
        if (!changes || context.GetEndpoint() is null || context.User.Identity is { IsAuthenticated: true, AuthenticationType: KeyHandler.Way })
        {
            await next(context);
            return;
        }

        try
        {
            await context.RequestServices.GetRequiredService<IAntiforgery>().ValidateRequestAsync(context);
        }
        catch (AntiforgeryValidationException)
        {
            await Refused(context).ExecuteAsync(context);
            return;
        }

        await next(context);
    }

    private static IResult Refused(HttpContext context) => PageRequests.WantsHtml(context.Request)
        ? SignInMarkup.Page(
            "Sent too late, or from elsewhere",
            $"<p>{SignInMarkup.Text(ApiProblems.FormTokenMissing.Says)} Nothing was done.</p><p><a href=\"/\">Start again</a></p>", ApiProblems.FormTokenMissing.Status)
        : ApiProblems.FormTokenMissing.Result();
}
