using Contracts.Store.Books;
using JasperFx;
using Marten;
using Npgsql;

namespace Contracts.Store.Setup;

/// <summary>The tables: Marten's for the events, ours for the clock, the command keys and who holds which instrument.</summary>
internal static class StoreSchema
{
    private const int Version = 3;
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

    /// <summary>Checks the session's zone and makes the tables where they are not there yet. Cheap when they are.</summary>
    public static async Task EnsureAsync(NpgsqlDataSource source, Lazy<DocumentStore> marten, CancellationToken stop)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        SessionZone.RequireUtc(connection);
        if (await FindVersionAsync(connection, stop).ConfigureAwait(false) is { } found)
        {
            Require(found);
            return;
        }

        await ExecuteAsync(connection, $"select pg_advisory_lock({SetupLock})", stop).ConfigureAwait(false);
        try
        {
            if (await FindVersionAsync(connection, stop).ConfigureAwait(false) is { } made)
            {
                Require(made);
                return;
            }

            await marten.Value.Storage.ApplyAllConfiguredChangesToDatabaseAsync(AutoCreate.CreateOrUpdate).ConfigureAwait(false);
            await using var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
            await ExecuteAsync(connection, Own, stop).ConfigureAwait(false);
            await ExecuteAsync(connection, BookSchema.Sql, stop).ConfigureAwait(false);
            await ExecuteAsync(connection, $"insert into contracts.schema_version values ({Version})", stop).ConfigureAwait(false);
            await transaction.CommitAsync(stop).ConfigureAwait(false);
        }
        finally
        {
            await ExecuteAsync(connection, $"select pg_advisory_unlock({SetupLock})", CancellationToken.None).ConfigureAwait(false);
        }
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

    private static void Require(int found)
    {
        if (found != Version) { throw new StoreException($"The store has schema version {found}; this program works with {Version}."); }
    }

    private static async Task ExecuteAsync(NpgsqlConnection connection, string sql, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
