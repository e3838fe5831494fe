using Microsoft.Net.Http.Headers;

namespace Contracts.Host.Serving.SignIn;

/// <summary>Requests of browsers for pages, apart from those of programs.</summary>
public static class PageRequests
{
    /// <summary>Where people sign in.</summary>
    public const string SignInPath = "/sign-in";

    /// <summary>Whether somebody looks at a page: it is asked for, not sent; HTML is wanted; and it is not the API.</summary>
    public static bool IsPage(HttpRequest request) => (HttpMethods.IsGet(request.Method) || HttpMethods.IsHead(request.Method)) && WantsHtml(request);

    /// <summary>Whether the answer is for a person to read.</summary>
    public static bool WantsHtml(HttpRequest request) => !IsApi(request)
        && request.GetTypedHeaders().Accept.Any(one => one.MediaType.Equals("text/html", StringComparison.OrdinalIgnoreCase));

    /// <summary>Whether it is for programs.</summary>
    public static bool IsApi(HttpRequest request) => request.Path.StartsWithSegments("/v1", StringComparison.OrdinalIgnoreCase);

    /// <summary>Where to sign in, and to come back from there.</summary>
    public static string SignInFor(HttpRequest request) =>
        $"{request.PathBase}{SignInPath}?next={Uri.EscapeDataString($"{request.Path}{request.QueryString}")}";

    /// <summary>Where to go on: a path of this host, whatever was asked for.</summary>
    public static string Next(string? wanted) => wanted is ['/', .. var rest] && !(rest is ['/' or '\\', ..]) && !wanted.Any(char.IsControl)
        && !wanted.StartsWith(SignInPath, StringComparison.OrdinalIgnoreCase)
        ? wanted
        : "/";
}
