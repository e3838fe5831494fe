using Contracts.Store.Setup;
using Marten;
using Npgsql;

namespace Contracts.Store;

/// <summary>Makes a store's tables and roles, or takes them to the newest version, as their owner.</summary>
public static class StoreSetup
{
    /// <summary>Sets up or upgrades, and gives every role again what it needs. Harmless to repeat.</summary>
    /// <param name="owner">The connection string of a superuser, or of a role that owns the database and may make roles.</param>
    /// <param name="alone">The database holds the store and nothing else, so what PostgreSQL gives everybody in it is taken away.</param>
    /// <returns>Whether the roles are in force; not where this login may not make them.</returns>
    public static async Task<bool> RunAsync(string owner, bool alone, CancellationToken stop = default)
    {
        var source = StoreSource.Connect(owner);
        await using (source.ConfigureAwait(false))
        {
            var marten = new Lazy<DocumentStore>(() => MartenSetup.Build(source));
            try
            {
                return await StoreSchema.EnsureAsync(source, marten, alone, stop).ConfigureAwait(false);
            }
            finally
            {
                if (marten.IsValueCreated) { marten.Value.Dispose(); }
            }
        }
    }
}
