using System.Reflection;
using Contracts.Host.Jobs;
using Contracts.Host.Running;
using Contracts.Store;
using JasperFx;
using NodaTime;
using Npgsql;
using Wolverine;
using Wolverine.Persistence.Durability;
using Wolverine.Postgresql;

namespace Contracts.Host.Serving;

/// <summary>
/// The tables of the durable queues. The role of everyday work may use them and cannot make them, so they are made by the owner;
/// the schema says for which version of the library, so that a later start only reads that.
/// </summary>
public static class MessageTables
{
    /// <summary>The library's version, and that the table of recurring messages is among the tables.</summary>
    private static readonly string Version =
        typeof(IMessageBus).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()!.InformationalVersion.Split('+')[0] + "+recurring";

    /// <summary>Makes the tables where they are missing or of another version, as the owner of the connection.</summary>
    public static async Task EnsureAsync(StoreConnection connection, CancellationToken stop)
    {
        if (await AreCurrentAsync(connection.Everyday, stop)) { return; }
        if (connection.Owner is null)
        {
            throw new StoreException(
                "The tables of the queues are missing or of another version. The owner makes them with: contracts setup --database <the owner's connection string>");
        }

        await MakeAsync(connection.Owner, stop);
    }

    /// <summary>Makes the tables of the queues, and gives the roles what they need there.</summary>
    public static async Task MakeAsync(string owner, CancellationToken stop)
    {
        if (await AreCurrentAsync(owner, stop)) { return; }
        var builder = Microsoft.Extensions.Hosting.Host.CreateEmptyApplicationBuilder(null);
        builder.UseWolverine(options =>
        {
            options.PersistMessagesWithPostgresql(owner, ContractsHost.MessageSchema);
            options.AutoBuildMessageStorageOnStartup = AutoCreate.CreateOrUpdate;
            options.Durability.Mode = DurabilityMode.Solo;
            options.Policies.UseDurableLocalQueues();
            BusHandlers.Add(options);
            // With a schedule its table is made as well, so that a host may have the day's jobs later.
            DaySchedule.Add(options, LocalTime.Midnight);
        });
        builder.Services.AddSingleton(new JobSigner(null));
        using (var host = builder.Build())
        {
            await host.Services.GetRequiredService<IMessageStore>().Admin.MigrateAsync();
        }

        await using (var source = NpgsqlDataSource.Create(owner))
        await using (var mark = source.CreateCommand($"comment on schema {ContractsHost.MessageSchema} is '{Version}'"))
        {
            await mark.ExecuteNonQueryAsync(stop);
        }

        await StoreSetup.RunAsync(owner, alone: false, stop);
    }

    private static async Task<bool> AreCurrentAsync(string connection, CancellationToken stop)
    {
        await using var source = NpgsqlDataSource.Create(connection);
        await using var command = source.CreateCommand(
            $"select obj_description(oid, 'pg_namespace') from pg_namespace where nspname = '{ContractsHost.MessageSchema}'");
        return await command.ExecuteScalarAsync(stop) as string == Version;
    }
}
