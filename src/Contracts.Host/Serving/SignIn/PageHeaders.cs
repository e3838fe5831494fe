using System.Security.Cryptography;

namespace Contracts.Host.Serving.SignIn;

/// <summary>A number of one page: only scripts and styles that carry it are run. A page takes it as a scoped service.</summary>
public sealed class PageNonce
{
    private const int Bytes = 16;

    /// <summary>The value of the attribute <c>nonce</c>.</summary>
    public string Value { get; } = Convert.ToBase64String(RandomNumberGenerator.GetBytes(Bytes));
}

/// <summary>What every answer tells a browser: to run nothing that is not ours, to be framed nowhere, to guess no type, to tell no other site.</summary>
internal static class PageHeaders
{
    /// <summary>An answer of the API is data; a paper may have its own style, and runs nothing.</summary>
    private const string Data =
        "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; sandbox";

    /// <summary>The page that shows the API document comes from a package with scripts and styles in it; it shows nothing of anybody.</summary>
    private const string Reference =
        "default-src 'self'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; font-src 'self' data:; "
        + "object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'";

    public static Task AddAsync(HttpContext context, RequestDelegate next)
    {
        context.Response.OnStarting(() =>
        {
            Set(context);
            return Task.CompletedTask;
        });
        return next(context);
    }

    private static void Set(HttpContext context)
    {
        var headers = context.Response.Headers;
        headers.XContentTypeOptions = "nosniff";
        headers["Referrer-Policy"] = "no-referrer";
        if (context.Request.IsHttps) { headers.StrictTransportSecurity = "max-age=31536000"; }
        var html = context.Response.ContentType?.StartsWith("text/html", StringComparison.OrdinalIgnoreCase) == true;
        if (PageRequests.IsApi(context.Request)) { headers.ContentSecurityPolicy = Data; }
        else if (context.Request.Path.StartsWithSegments("/reference", StringComparison.OrdinalIgnoreCase)) { headers.ContentSecurityPolicy = Reference; }
        else if (html)
        {
            headers.ContentSecurityPolicy = Page(context.RequestServices.GetRequiredService<PageNonce>().Value);
            // Figures of families stay in no cache, of the browser or between.
            headers.CacheControl = "no-store";
        }
    }

    private static string Page(string nonce) =>
        $"default-src 'self'; script-src 'nonce-{nonce}'; style-src 'self' 'nonce-{nonce}'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'";
}
