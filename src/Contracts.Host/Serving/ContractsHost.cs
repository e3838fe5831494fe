using Contracts.Host.Counter;
using Contracts.Host.Jobs;
using Contracts.Host.Running;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.Pages;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using JasperFx;
using Wolverine;
using Wolverine.Postgresql;

namespace Contracts.Host.Serving;

/// <summary>
/// The running host: the same handlers as the command line, behind durable queues kept in the same database.
/// </summary>
public static class ContractsHost
{
    /// <summary>The schema of Wolverine's own tables, apart from the events.</summary>
    public const string MessageSchema = "messages";

    private static readonly TimeSpan LongestDay = TimeSpan.FromHours(12);

    public static WebApplicationBuilder Builder(ContractsStore store, string connection, ApiSettings? settings = null, SignInSettings? signIn = null)
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.SetMinimumLevel(LogLevel.Warning);
        // A form's token may not be cached, which is what pages ask for already; it says so each time.
        builder.Logging.AddFilter("Microsoft.AspNetCore.Antiforgery", LogLevel.Error);
        builder.Logging.AddConsole(console => console.LogToStandardErrorThreshold = LogLevel.Trace);
        builder.WebHost.UseKestrelHttpsConfiguration();
        builder.Services.AddSingleton(store);
        Telemetry.Add(builder);
        PageHost.Add(builder.Services);
        SignInSetup.Add(builder, signIn ?? new SignInSettings());
        ApiHost.Add(builder, settings ?? new ApiSettings());
        builder.Services.AddSingleton(new JobSigner(settings?.Signer));
        builder.UseWolverine(options =>
        {
            options.PersistMessagesWithPostgresql(connection, MessageSchema);
            // The role of everyday work makes no tables; its owner did. Whoever works as the owner is served as before.
            options.AutoBuildMessageStorageOnStartup = store.IsGuarded ? AutoCreate.None : AutoCreate.CreateOrUpdate;
            options.Durability.Mode = DurabilityMode.Solo;
            options.Policies.UseDurableLocalQueues();
            BusHandlers.Add(options);
            // Commands of one queue are applied one after the other, in the order in which they came.
            options.LocalQueueFor<CommandMessage>().Sequential();
            options.LocalQueueFor<RunDay>().Sequential();
            // The jobs of a day over a large portfolio take their time.
            options.DefaultExecutionTimeout = LongestDay;
            if (settings?.Clock is { } time) { DaySchedule.Add(options, time); }
        });
        return builder;
    }

    /// <summary>Every route of the host.</summary>
    public static void Map(WebApplication app)
    {
        ApiHost.Use(app, app.Services.GetRequiredService<ApiSettings>());
        HealthEndpoints.Map(app);
        SignInSetup.Map(app);
        ApiHost.Map(app);
        PageHost.Map(app);
    }
}
