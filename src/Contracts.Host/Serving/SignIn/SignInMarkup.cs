using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Antiforgery;

namespace Contracts.Host.Serving.SignIn;

/// <summary>The few pages around signing in: one column, labels, no script.</summary>
internal static class SignInMarkup
{
    private const string Type = "text/html; charset=utf-8";

    /// <summary>Text as it may stand in HTML, in an attribute's quotes as well.</summary>
    public static string Text(string? text) => HtmlEncoder.Default.Encode(text ?? "");

    /// <summary>A page around markup that is well formed.</summary>
    public static IResult Page(string title, string body, int status = StatusCodes.Status200OK) => Results.Text(
        $"""
        <!doctype html>
        <html lang="en">
        <head>
        <meta charset="utf-8">
        <meta name="viewport" content="width=device-width, initial-scale=1">
        <title>{Text(title)} - Contracts</title>
        <link rel="stylesheet" href="/look.css">
        <link rel="icon" href="/icon.svg">
        </head>
        <body>
        <main>
        <h1>{Text(title)}</h1>
        {body}
        </main>
        </body>
        </html>

        """,
        Type, null, status);

    /// <summary>A form that is sent to this host, with the token that shows that it came from here.</summary>
    public static string Form(HttpContext context, string action, string button, string fields)
    {
        var tokens = context.RequestServices.GetRequiredService<IAntiforgery>().GetAndStoreTokens(context);
        return $"""
            <form method="post" action="{Text(action)}">
            <input type="hidden" name="{Text(tokens.FormFieldName)}" value="{Text(tokens.RequestToken)}">
            {fields}
            <p><button type="submit">{Text(button)}</button></p>
            </form>
            """;
    }

    /// <summary>A field with its label.</summary>
    public static string Field(string name, string label, string more, string? value = null) =>
        $"""<p><label for="{name}">{Text(label)}</label><br><input id="{name}" name="{name}" value="{Text(value)}" {more}></p>""";

    /// <summary>A field that nobody sees.</summary>
    public static string Hidden(string name, string? value) => $"""<input type="hidden" name="{name}" value="{Text(value)}">""";

    /// <summary>What went wrong; read aloud at once by a screen reader.</summary>
    public static string Alert(string? says) => says is null ? "" : $"""<p role="alert">{Text(says)}</p>""";
}
