using Contracts.Books;
using Contracts.Store.Books;
using Npgsql;

namespace Contracts.Store.Setup;

/// <summary>
/// The step after which the cube keeps one side of what is earned day by day (<see cref="EarnedByDay"/>): more than a
/// third of its cells were the other side, and writing them took the longest of all that a command adds to the books.
/// </summary>
internal sealed class OneSideUpgrade : IUpgradeStep
{
    public async Task TakeAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        int[] told = [.. EarnedByDay.Deferred.Select(account => AccountCode.Of(EarnedByDay.Revenue(account, Movement.Released)!.Value, Movement.Released))];
        foreach (var table in new[] { "book_cells", "book_months" })
        {
            await using var command = new NpgsqlCommand($"delete from contracts.{table} where account = any($1)", connection);
            command.Parameters.Add(new NpgsqlParameter<int[]> { TypedValue = told });
            await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        }
    }
}
