using Npgsql;
using OpenTelemetry.Metrics;
using OpenTelemetry.Resources;
using OpenTelemetry.Trace;

namespace Contracts.Host.Serving;

/// <summary>Traces and metrics by OpenTelemetry, sent to a collector where one is named and nowhere else.</summary>
public static class Telemetry
{
    /// <summary>Names the collector; the further variables of OpenTelemetry's exporter count as well.</summary>
    public const string EndpointVariable = "OTEL_EXPORTER_OTLP_ENDPOINT";

    public static void Add(WebApplicationBuilder builder)
    {
        if (string.IsNullOrEmpty(builder.Configuration[EndpointVariable])) { return; }
        builder.Services.AddOpenTelemetry()
            .ConfigureResource(resource => resource.AddService("contracts"))
            // Health is asked all day and tells nothing. Of a URL's query only the names of its fields are kept: a purpose is nobody's business there.
            .WithTracing(traces => traces
                .AddAspNetCoreInstrumentation(web => web.Filter = context => !context.Request.Path.StartsWithSegments("/health", StringComparison.Ordinal))
                .AddNpgsql().AddOtlpExporter())
            .WithMetrics(metrics => metrics.AddAspNetCoreInstrumentation().AddRuntimeInstrumentation().AddOtlpExporter());
    }
}
