using Contracts.Host.Counter;
using Contracts.Host.Running;
using Contracts.Store;
using JasperFx;
using Wolverine;
using Wolverine.Postgresql;

namespace Contracts.Host.Serving;

/// <summary>
/// The running host: the same handlers as the command line, behind durable queues kept in the same database.
/// </summary>
/// <remarks>There is no sign-in yet, so it listens on this machine only.</remarks>
public static class ContractsHost
{
    /// <summary>The schema of Wolverine's own tables, apart from the events.</summary>
    public const string MessageSchema = "messages";

    public static WebApplicationBuilder Builder(ContractsStore store, string connection)
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.SetMinimumLevel(LogLevel.Warning);
        builder.Logging.AddConsole(console => console.LogToStandardErrorThreshold = LogLevel.Trace);
        builder.Services.AddSingleton(store);
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
        });
        return builder;
    }

    /// <summary>When the database is away the answer is 503 with a problem, not a stack trace; the command's key makes a retry safe.</summary>
    private static async Task UnavailableAsync(HttpContext context, RequestDelegate next)
    {
        try
        {
            await next(context);
        }
        catch (Exception fault) when (fault is StoreException or Npgsql.NpgsqlException or TimeoutException && !context.Response.HasStarted)
        {
            await Results.Problem(
                "Send the same command with the same key again later; it will count once.", null,
                StatusCodes.Status503ServiceUnavailable, "the store is not available", "urn:contracts:unavailable").ExecuteAsync(context);
        }
    }

    /// <summary>Every route of the host.</summary>
    public static void Map(WebApplication app)
    {
        app.Use(UnavailableAsync);
        app.MapGet("/health/live", () => Results.Text("live"));
        app.MapGet("/health/ready", async (ContractsStore open, CancellationToken stop) =>
        {
            await open.Reader.NowAsync(stop);
            return Results.Text("ready");
        });
        CommandEndpoints.Map(app);
    }
}
