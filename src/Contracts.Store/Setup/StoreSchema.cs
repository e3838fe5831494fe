using Contracts.Store.Bank;
using Contracts.Store.Books;
using Contracts.Store.Callers;
using Contracts.Store.Jobs;
using Contracts.Store.Vault;
using Contracts.Store.Webhooks;
using JasperFx;
using Marten;
using Npgsql;

namespace Contracts.Store.Setup;

/// <summary>The tables: Marten's for the events, ours for the clock, the command keys and who holds which instrument.</summary>
internal static class StoreSchema
{
    /// <summary>The version that has events and no books; it was only ever made by programs of that time.</summary>
    private const int WithoutBooks = 1;

    /// <summary>The version that a new store is made with; the steps after it are taken in a new store as in an old one.</summary>
    public const int Base = 2;

    /// <summary>The steps from one version to the next, each a transaction of its own and never changed once released.</summary>
    private static readonly IUpgradeStep[] Steps =
    [
        new VaultUpgrade(), new PrivilegesUpgrade(), new AuditUpgrade(), new CallersUpgrade(), new PeopleUpgrade(), new WebhooksUpgrade(), new JobsUpgrade(),
        new BankUpgrade(), new TelephoneUpgrade(), new OneSideUpgrade(),
    ];

    /// <summary>The version this program works with.</summary>
    public static int Version => Base + Steps.Length;

    private const long SetupLock = 0x636f6e7472616374;

    /// <summary>Writers and the question "what is known now?" meet on this advisory lock.</summary>
    public const long WriterLock = SetupLock + 1;

    // Ids are compared byte by byte: reads come out in ordinal order straight from the index, whatever the
    // database's collation is.
    private const string Own = """
        alter table contracts.mt_streams alter column id type varchar collate "C";
        alter table contracts.mt_events alter column stream_id type varchar collate "C";
        create table contracts.clock (
            only_row boolean primary key default true check (only_row),
            last timestamptz not null,
            simulated boolean not null,
            revision bigint not null);
        insert into contracts.clock (last, simulated, revision) values ('1970-01-01Z', false, 0);
        create table contracts.command_keys (
            key text collate "C" primary key,
            contract text collate "C" null,
            recorded_at timestamptz not null,
            outcome jsonb null);
        create table contracts.placements (
            serial text collate "C" primary key,
            contract text collate "C" not null);
        create index placements_contract on contracts.placements (contract);
        create table contracts.schema_version (version int not null);
        """;

    /// <summary>Makes the tables where they are not there yet, takes them to this program's version, and gives the roles what they need.</summary>
    /// <returns>Whether the roles are in force.</returns>
    public static async Task<bool> EnsureAsync(NpgsqlDataSource source, Lazy<DocumentStore> marten, bool alone, CancellationToken stop)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        SessionZone.RequireUtc(connection);
        await ExecuteAsync(connection, $"select pg_advisory_lock({SetupLock})", stop).ConfigureAwait(false);
        try
        {
            // Somebody else may have done it while we waited.
            switch (await FindVersionAsync(connection, stop).ConfigureAwait(false))
            {
                case null: await MakeAsync(connection, marten.Value, stop).ConfigureAwait(false); break;
                case WithoutBooks: await BooksUpgrade.RunAsync(source, stop).ConfigureAwait(false); break;
                default: break;
            }

            for (var version = (await FindVersionAsync(connection, stop).ConfigureAwait(false))!.Value; !IsCurrent(version); version++)
            {
                await TakeAsync(connection, Steps[version - Base], version + 1, stop).ConfigureAwait(false);
            }

            return await ApplyPrivilegesAsync(connection, alone, stop).ConfigureAwait(false);
        }
        finally
        {
            await ExecuteAsync(connection, $"select pg_advisory_unlock({SetupLock})", CancellationToken.None).ConfigureAwait(false);
        }
    }

    /// <summary>After the steps, whichever of them made the tables; and where nothing was to do, because a copy may have come without them.</summary>
    private static async Task<bool> ApplyPrivilegesAsync(NpgsqlConnection connection, bool alone, CancellationToken stop)
    {
        await using var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
        var applied = await Privileges.ApplyAsync(connection, stop).ConfigureAwait(false);
        if (applied && alone) { await Privileges.CloseDatabaseAsync(connection, stop).ConfigureAwait(false); }
        await transaction.CommitAsync(stop).ConfigureAwait(false);
        return applied;
    }

    private static async Task<int?> FindVersionAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        try
        {
            await using var command = new NpgsqlCommand("select max(version) from contracts.schema_version", connection);
            return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) as int?;
        }
        catch (PostgresException missing) when (missing.SqlState is PostgresErrorCodes.UndefinedTable or PostgresErrorCodes.InvalidSchemaName)
        {
            return null;
        }
    }

    private static async Task MakeAsync(NpgsqlConnection connection, DocumentStore marten, CancellationToken stop)
    {
        await marten.Storage.ApplyAllConfiguredChangesToDatabaseAsync(AutoCreate.CreateOrUpdate).ConfigureAwait(false);
        await using var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
        await ExecuteAsync(connection, Own, stop).ConfigureAwait(false);
        await ExecuteAsync(connection, BookSchema.Sql, stop).ConfigureAwait(false);
        await ExecuteAsync(connection, $"insert into contracts.schema_version values ({Base})", stop).ConfigureAwait(false);
        await transaction.CommitAsync(stop).ConfigureAwait(false);
    }

    private static async Task TakeAsync(NpgsqlConnection connection, IUpgradeStep step, int to, CancellationToken stop)
    {
        await using var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
        await step.TakeAsync(connection, stop).ConfigureAwait(false);
        await ExecuteAsync(connection, $"insert into contracts.schema_version values ({to})", stop).ConfigureAwait(false);
        await transaction.CommitAsync(stop).ConfigureAwait(false);
    }

    /// <summary>Whether tables of this version are what this program works with; older ones are upgraded, newer ones refused.</summary>
    public static bool IsCurrent(int found) => found > Version
        ? throw new StoreException($"The store has schema version {found}; this program works with {Version}.")
        : found == Version;

    private static async Task ExecuteAsync(NpgsqlConnection connection, string sql, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
