using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Threading.RateLimiting;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Microsoft.AspNetCore.HttpOverrides;
using Microsoft.AspNetCore.Http.Timeouts;
using Npgsql;

namespace Contracts.Host.Serving.Api;

/// <summary>The API in a host: its limits, what goes wrong, and its routes.</summary>
internal static partial class ApiHost
{
    /// <summary>The time limit of what goes through the whole store.</summary>
    public const string Many = "many";

    public static void Add(WebApplicationBuilder builder, ApiSettings settings)
    {
        var services = builder.Services;
        services.AddSingleton(settings);
        services.AddSingleton<OneCheck>();
        ApiDocument.Add(services);
        services.Configure<Microsoft.AspNetCore.Server.Kestrel.Core.KestrelServerOptions>(kestrel =>
        {
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = settings.LargestBody;
        });
        services.AddRequestTimeouts(timeouts =>
        {
            timeouts.DefaultPolicy = Policy(settings.Longest);
            timeouts.AddPolicy(Many, Policy(settings.LongestOfMany));
        });
        services.AddRateLimiter(limits =>
        {
            limits.GlobalLimiter = PartitionedRateLimiter.Create<HttpContext, IPAddress>(context => RateLimitPartition.GetTokenBucketLimiter(
                context.Connection.RemoteIpAddress ?? IPAddress.None,
                _ => new TokenBucketRateLimiterOptions
                {
                    TokenLimit = settings.Burst, TokensPerPeriod = settings.RequestsPerSecond, ReplenishmentPeriod = TimeSpan.FromSeconds(1), QueueLimit = 0,
                }));
            limits.OnRejected = async (rejected, _) =>
            {
                var wait = rejected.Lease.TryGetMetadata(MetadataName.RetryAfter, out var after) ? after : TimeSpan.FromSeconds(1);
                rejected.HttpContext.Response.Headers.RetryAfter = ApiProblems.Seconds(wait);
                await ApiProblems.TooManyRequests.WriteAsync(rejected.HttpContext);
            };
        });
        if (settings.BehindProxy)
        {
            services.Configure<ForwardedHeadersOptions>(forwarded =>
            {
                forwarded.ForwardedHeaders = ForwardedHeaders.XForwardedFor | ForwardedHeaders.XForwardedProto | ForwardedHeaders.XForwardedHost;
                // Nobody but the proxy reaches the port; that is what was promised.
                forwarded.KnownIPNetworks.Clear();
                forwarded.KnownProxies.Clear();
            });
        }
    }

    public static void Use(WebApplication app, ApiSettings settings)
    {
        if (settings.BehindProxy) { app.UseForwardedHeaders(); }
        app.Use(PageHeaders.AddAsync);
        app.Use(FaultsAsync);
        app.UseStatusCodePages(bare => ApiProblems.OfStatus(bare.HttpContext.Response.StatusCode).WriteAsync(bare.HttpContext));
        app.UseRateLimiter();
        app.UseRequestTimeouts();
        SignInSetup.Use(app);
    }

    public static void Map(IEndpointRouteBuilder routes)
    {
        CommandEndpoints.Map(routes);
        PreviewEndpoints.Map(routes);
        AccountEndpoints.Map(routes);
        FindEndpoints.Map(routes);
        AccountLists.Map(routes);
        ResultsEndpoints.Map(routes);
        PaperEndpoints.Map(routes);
        ProposalEndpoints.Map(routes);
        DisputeEndpoints.Map(routes);
        FleetEndpoints.Map(routes);
        MoneyFileEndpoints.Map(routes);
        BookEndpoints.Map(routes);
        LawEndpoints.Map(routes);
        CheckEndpoints.Map(routes);
        JobEndpoints.Map(routes);
        ProblemEndpoints.Map(routes);
        ApiDocument.Map(routes);
    }

    /// <summary>Maps what is behind a door: its roles, its record, its words.</summary>
    public static RouteHandlerBuilder MapDoor(this IEndpointRouteBuilder routes, Door door, Delegate handler)
    {
        var route = routes.MapMethods(door.Route, [door.Method], handler)
            .RequireAuthorization(policy => policy.RequireClaim(Roles.Claim, door.Roles))
            .WithMetadata(door)
            .WithTags(door.Route.Split('/')[2])
            .WithSummary(door.Says);
        return door.Recorded ? route.AddEndpointFilter(new ReadRecorder(door)) : route;
    }

    private static RequestTimeoutPolicy Policy(TimeSpan longest) => new()
    {
        Timeout = longest, TimeoutStatusCode = ApiProblems.TimeLimit.Status,
        WriteTimeoutResponse = context => ApiProblems.TimeLimit.WriteAsync(context),
    };

    /// <summary>What goes wrong is told as a problem and logged, and never as a stack trace.</summary>
    private static async Task FaultsAsync(HttpContext context, RequestDelegate next)
    {
        try
        {
            await next(context);
        }
        catch (OperationCanceledException) when (context.RequestAborted.IsCancellationRequested)
        {
            // Whoever asked has gone.
        }
        catch (BadHttpRequestException bad) when (!context.Response.HasStarted)
        {
            await ApiProblems.OfStatus(bad.StatusCode).WriteAsync(context);
        }
        catch (Exception away) when (IsAway(away) && !context.Response.HasStarted)
        {
            LogAway(Log(context), away.Message);
            context.Response.Headers.RetryAfter = ApiProblems.Seconds(TimeSpan.FromSeconds(1));
            await ApiProblems.StoreUnavailable.WriteAsync(context);
        }
        catch (StoreException stands) when (!context.Response.HasStarted)
        {
            // Its words are for whoever works with the store, on the command line as here.
            LogAway(Log(context), stands.Message);
            await ApiProblems.StoreFault.With(stands.Message).ExecuteAsync(context);
        }
        catch (Exception fault) when (!context.Response.HasStarted)
        {
            var trace = Activity.Current?.TraceId.ToString() ?? context.TraceIdentifier;
            LogFault(Log(context), trace, fault);
            context.Response.Headers.Remove("ETag");
            await ApiProblems.InternalFault.WriteAsync(context, json => json.WriteString("traceId", trace));
        }
    }

    private static bool IsAway(Exception fault) =>
        fault is NpgsqlException or TimeoutException || (fault is StoreException { InnerException: { } inner } && IsAway(inner));

    private static ILogger Log(HttpContext context) => context.RequestServices.GetRequiredService<ILoggerFactory>().CreateLogger("Contracts.Api");

    [LoggerMessage(Level = LogLevel.Warning, Message = "The store could not answer: {Reason}")]
    private static partial void LogAway(ILogger log, string reason);

    [LoggerMessage(Level = LogLevel.Error, Message = "A request failed; trace {Trace}")]
    private static partial void LogFault(ILogger log, string trace, Exception fault);
}
