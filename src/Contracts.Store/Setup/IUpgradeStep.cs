using Npgsql;

namespace Contracts.Store.Setup;

/// <summary>One step from a version of the tables to the next.</summary>
internal interface IUpgradeStep
{
    /// <summary>Takes the step inside a transaction that is open on the connection.</summary>
    Task TakeAsync(NpgsqlConnection connection, CancellationToken stop);
}
