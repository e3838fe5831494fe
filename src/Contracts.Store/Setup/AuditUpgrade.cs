using Contracts.Store.Seals;
using Npgsql;

namespace Contracts.Store.Setup;

/// <summary>The step that gives a store the tables of its seals; what was recorded before is sealed with the rest, later.</summary>
internal sealed class AuditUpgrade : IUpgradeStep
{
    public async Task TakeAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(SealSchema.Sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
