using Contracts.Store.Setup;
using Npgsql;

namespace Contracts.Store.Bank;

/// <summary>
/// The step that gives a store a place for what was written with a line that waits for a person. It may name people, so it is no part of the
/// history and goes when the line is decided on.
/// </summary>
internal sealed class BankUpgrade : IUpgradeStep
{
    private const string Sql = """
        create table contracts.waiting_texts (
            entry text collate "C" primary key,
            text text not null);
        """;

    public async Task TakeAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(Sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
