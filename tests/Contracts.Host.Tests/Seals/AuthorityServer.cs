using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Logging;

namespace Contracts.Host.Tests.Seals;

/// <summary>A test's authority behind HTTP on this machine.</summary>
internal sealed class AuthorityServer : IAsyncDisposable
{
    private readonly WebApplication app;

    public AuthorityServer(TestAuthority authority)
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.ClearProviders();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        app = builder.Build();
        app.MapPost("/", async (HttpRequest request) =>
        {
            if (IsAway) { return Results.StatusCode(StatusCodes.Status503ServiceUnavailable); }
            using var body = new MemoryStream();
            await request.Body.CopyToAsync(body);
            return Results.Bytes(authority.Answer(body.ToArray(), At ?? DateTimeOffset.UtcNow), "application/timestamp-reply");
        });
        app.StartAsync().GetAwaiter().GetResult();
    }

    public string Url => app.Urls.Single() + "/";

    /// <summary>The time it stamps; now when null.</summary>
    public DateTimeOffset? At { get; set; }

    public bool IsAway { get; set; }

    public ValueTask DisposeAsync() => app.DisposeAsync();
}
