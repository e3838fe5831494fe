using System.Collections.Concurrent;
using System.Text;
using Contracts.Host.Serving;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using OpenTelemetry.Trace;
using Xunit;

namespace Contracts.Host.Tests.Serving;

/// <summary>Telemetry goes to the collector that is named, without the texts of queries; where none is named there is none.</summary>
public sealed class TelemetryTests
{
    [Fact]
    public void Without_a_collector_nothing_is_traced()
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.Configuration[Telemetry.EndpointVariable] = null;
        Telemetry.Add(builder);
        Assert.DoesNotContain(builder.Services, service => service.ServiceType == typeof(TracerProvider));
    }

    [Fact]
    public async Task A_request_is_told_to_the_collector_and_its_purpose_is_not()
    {
        var told = new ConcurrentBag<string>();
        await using var collector = Listening(builder => { });
        collector.MapPost("/{**path}", async (HttpRequest request) =>
        {
            using var body = new MemoryStream();
            await request.Body.CopyToAsync(body);
            told.Add(Encoding.Latin1.GetString(body.ToArray()));
        });
        await collector.StartAsync(TestContext.Current.CancellationToken);
        await using (var host = Listening(builder =>
        {
            builder.Configuration[Telemetry.EndpointVariable] = AddressOf(collector);
            builder.Configuration["OTEL_EXPORTER_OTLP_PROTOCOL"] = "http/protobuf";
            Telemetry.Add(builder);
        }))
        {
            host.MapGet("/v1/accounts/{contract}", () => "answer");
            await host.StartAsync(TestContext.Current.CancellationToken);
            using var client = new HttpClient();
            await client.GetStringAsync($"{AddressOf(host)}/v1/accounts/C-1?purpose=confidential", TestContext.Current.CancellationToken);
            // What waits is sent on the way out.
            await host.StopAsync(TestContext.Current.CancellationToken);
        }

        Assert.Contains(told, text => text.Contains("/v1/accounts/{contract}", StringComparison.Ordinal));
        Assert.DoesNotContain(told, text => text.Contains("confidential", StringComparison.Ordinal));
    }

    private static WebApplication Listening(Action<WebApplicationBuilder> more)
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        more(builder);
        return builder.Build();
    }

    private static string AddressOf(WebApplication app) =>
        app.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Single();
}
