using Marten;
using Npgsql;

namespace Contracts.Store.Setup;

/// <summary>A data source for everyday work on tables that are as this program wants them, and what there is to say about it.</summary>
/// <param name="Guarded">Whether this login can add history and not change it.</param>
/// <param name="Warning">What the person who works with it should hear, or null.</param>
internal sealed record Opened(NpgsqlDataSource Source, StoreConnection Connection, bool Guarded, string? Warning);

/// <summary>Finds the login for everyday work, sets the tables up where they are not, and refuses what must not be worked with.</summary>
internal static class StoreOpening
{
    public static async Task<Opened> OpenAsync(StoreConnection connection, CancellationToken stop)
    {
        var source = StoreSource.Connect(connection.Everyday);
        try
        {
            var state = await StoreState.ReadAsync(source, stop).ConfigureAwait(false);
            state.RequireSafeKeeping(connection.ChecksumsRequired);
            if (!state.IsCurrent) { state = await SetUpAsync(source, state, connection, stop).ConfigureAwait(false); }
            state.RequireHarmlessApp();
            if (ZoneData.IsNewerThan(state.ZoneRules)) { await RaiseZoneRulesAsync(source, stop).ConfigureAwait(false); }
            if (state.ChangesHistory is null) { return new Opened(source, connection, Guarded: true, null); }
            if (await AppAsync(connection, stop).ConfigureAwait(false) is { } app)
            {
                await source.DisposeAsync().ConfigureAwait(false);
                return app;
            }

            return new Opened(source, connection, Guarded: false, Warn(state));
        }
        catch
        {
            await source.DisposeAsync().ConfigureAwait(false);
            throw;
        }
    }

    /// <summary>Makes or changes the tables as the owner, over a login that ends with it.</summary>
    private static async Task<StoreState> SetUpAsync(NpgsqlDataSource source, StoreState state, StoreConnection connection, CancellationToken stop)
    {
        if (connection.Owner is { } owner) { await StoreSetup.RunAsync(owner, alone: true, stop).ConfigureAwait(false); }
        else if (state.User is DatabaseRoles.App or DatabaseRoles.Read)
        {
            throw new StoreException(
                $"The tables of this store {(state.Version is null ? "are missing or closed to" : "are older than this program, and not to be changed by")} "
                + $"the role {state.User}. Their owner sets them up with: contracts setup --database <the owner's connection string>");
        }
        else { await StoreSetup.RunAsync(connection.Everyday, alone: false, stop).ConfigureAwait(false); }

        var after = await StoreState.ReadAsync(source, stop).ConfigureAwait(false);
        return after.IsCurrent ? after : throw new StoreException($"The tables were set up, and the role {after.User} still may not see them.");
    }

    /// <summary>Whoever may log in as the owner is asked for no second password where the server wants none from the app role either.</summary>
    private static async Task<Opened?> AppAsync(StoreConnection connection, CancellationToken stop)
    {
        var text = new NpgsqlConnectionStringBuilder(connection.Everyday) { Username = DatabaseRoles.App, Password = null };
        var app = connection with { Everyday = text.ConnectionString, Owner = connection.Owner ?? connection.Everyday };
        var source = StoreSource.Connect(app.Everyday);
        try
        {
            var state = await StoreState.ReadAsync(source, stop).ConfigureAwait(false);
            if (state is { IsCurrent: true, ChangesHistory: null }) { return new Opened(source, app, Guarded: true, null); }
        }
        catch (NpgsqlException)
        {
            // The role is not there, or it needs a password that we were not given.
        }

        await source.DisposeAsync().ConfigureAwait(false);
        return null;
    }

    private static async Task RaiseZoneRulesAsync(NpgsqlDataSource source, CancellationToken stop)
    {
        try
        {
            await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
            await ZoneData.RecordAsync(connection, stop).ConfigureAwait(false);
        }
        catch (PostgresException closed) when (closed.SqlState == PostgresErrorCodes.InsufficientPrivilege)
        {
            // A login that only reads leaves the note to the next one that writes.
        }
    }

    private static string Warn(StoreState state) =>
        $"working as the database role {state.User}, which can change what was recorded (through: {state.ChangesHistory}): privileges do not "
        + $"protect the history. docs/audit.md, Privileges, says how to work as {DatabaseRoles.App}.";
}
