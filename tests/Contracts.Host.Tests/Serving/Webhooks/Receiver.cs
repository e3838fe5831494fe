using System.Collections.Concurrent;
using System.Threading.Channels;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Xunit;

namespace Contracts.Host.Tests.Serving.Webhooks;

/// <summary>What came in.</summary>
internal sealed record Came(IReadOnlyDictionary<string, string> Headers, byte[] Body, string Path);

/// <summary>A program on this machine that is told events: it says what came, and answers as a test wants it to.</summary>
internal sealed class Receiver : IAsyncDisposable
{
    private readonly WebApplication app;
    private readonly Channel<Came> arrivals = Channel.CreateUnbounded<Came>();
    private readonly ConcurrentQueue<Came> all = new();

    private Receiver(WebApplication app) => this.app = app;

    /// <summary>How it answers; 204 unless a test says otherwise.</summary>
    public Func<HttpContext, Came, Task> Answer { get; set; } = static (context, _) =>
    {
        context.Response.StatusCode = 204;
        return Task.CompletedTask;
    };

    /// <summary>Everything that came so far.</summary>
    public IReadOnlyList<Came> All => [.. all];

    public string Url { get; private set; } = "";

    public static async Task<Receiver> StartAsync()
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.ClearProviders();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        var receiver = new Receiver(builder.Build());
        receiver.app.Run(receiver.TakeAsync);
        await receiver.app.StartAsync();
        receiver.Url = receiver.app.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Single() + "/events";
        return receiver;
    }

    /// <summary>Always answers with a status.</summary>
    public void Say(int status) => Answer = (context, _) =>
    {
        context.Response.StatusCode = status;
        return Task.CompletedTask;
    };

    /// <summary>The next arrival, waited for.</summary>
    public async Task<Came> NextAsync() => await arrivals.Reader.ReadAsync(TestContext.Current.CancellationToken).AsTask().WaitAsync(TimeSpan.FromSeconds(30), TestContext.Current.CancellationToken);

    public async ValueTask DisposeAsync() => await app.DisposeAsync();

    private async Task TakeAsync(HttpContext context)
    {
        using var body = new MemoryStream();
        await context.Request.Body.CopyToAsync(body);
        var came = new Came(context.Request.Headers.ToDictionary(one => one.Key.ToLowerInvariant(), one => one.Value.ToString()), body.ToArray(), context.Request.Path);
        all.Enqueue(came);
        await arrivals.Writer.WriteAsync(came);
        await Answer(context, came);
    }
}

/// <summary>A clock that stands still until a test moves it.</summary>
internal sealed class HandClock : TimeProvider
{
    private DateTimeOffset now = new(2027, 3, 1, 12, 0, 0, TimeSpan.Zero);

    public override DateTimeOffset GetUtcNow() => now;

    public void Move(TimeSpan by) => now += by;
}
