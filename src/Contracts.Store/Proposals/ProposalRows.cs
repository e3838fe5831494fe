using System.Text;
using Contracts.Proposals;
using Contracts.Store.Json;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Proposals;

/// <summary>A proposal as it was recorded.</summary>
/// <param name="Proposal">What was proposed, and what became of it.</param>
/// <param name="Contract">The contract it concerns, or null for the close of a month.</param>
/// <param name="Change">The command as it was written.</param>
/// <param name="Reason">Why it was proposed.</param>
/// <param name="ProposedAt">When it was recorded.</param>
/// <param name="DecidedAt">When it was decided on, or null.</param>
/// <param name="DecidedBecause">Why it was put aside, or null.</param>
public sealed record RecordedProposal(
    Proposal Proposal, string? Contract, string Change, string? Reason, Instant ProposedAt, Instant? DecidedAt, string? DecidedBecause);

/// <summary>Reads proposals from their events: the one that made it, and the one that ended it.</summary>
internal static class ProposalRows
{
    private const string Columns = """
        select e.type, e.data, e.timestamp, e.headers->>'actor', e.headers->>'reason' from contracts.mt_events e
        """;

    // A range that the index on streams serves: the semicolon is the character after the colon.
    public const string All = $"{Columns} where e.stream_id >= 'proposal:' and e.stream_id < 'proposal;' and e.timestamp <= $1 order by e.seq_id";

    public const string Named = $"{Columns} where e.stream_id = any($1) order by e.seq_id";

    /// <summary>Adds those of the names that were made, read inside a writing transaction.</summary>
    public static async Task ReadAsync(
        NpgsqlConnection connection, NpgsqlTransaction transaction, string[] names, Dictionary<string, Proposal> into, CancellationToken stop)
    {
        if (names.Length == 0) { return; }
        await using var command = new NpgsqlCommand(Named, connection, transaction);
        command.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [.. names.Select(ProposalStreams.Of)] });
        foreach (var one in await ReadAsync(command, stop).ConfigureAwait(false)) { into[one.Proposal.Id] = one.Proposal; }
    }

    /// <summary>Every proposal the command names, in the order in which they were made.</summary>
    public static async Task<List<RecordedProposal>> ReadAsync(NpgsqlCommand command, CancellationToken stop)
    {
        var order = new List<string>();
        var found = new Dictionary<string, RecordedProposal>(StringComparer.Ordinal);
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var fact = EventJson.Read(Encoding.UTF8.GetBytes(reader.GetString(0)), reader.GetFieldValue<byte[]>(1));
            var at = reader.GetFieldValue<Instant>(2);
            var actor = await reader.IsDBNullAsync(3, stop).ConfigureAwait(false) ? "" : reader.GetString(3);
            var reason = await reader.IsDBNullAsync(4, stop).ConfigureAwait(false) ? null : reader.GetString(4);
            switch (fact)
            {
                case ChangeProposed made:
                    order.Add(made.Proposal);
                    found[made.Proposal] = new RecordedProposal(made.ToProposal(actor, reason), made.Contract, made.Change, reason, at, null, null);
                    break;
                case ChangeApproved end: End(end.Proposal, ProposalEnd.Approved); break;
                case ChangeDeclined end: End(end.Proposal, ProposalEnd.Declined); break;
                default: throw new StoreException($"A stream of proposals holds {fact.GetType().Name}.");
            }

            void End(string id, ProposalEnd end)
            {
                var one = found.GetValueOrDefault(id) ?? throw new StoreException($"The proposal {id} ended and was never made.");
                found[id] = one with { Proposal = one.Proposal with { End = end, By = actor }, DecidedAt = at, DecidedBecause = reason };
            }
        }

        return order.ConvertAll(id => found[id]);
    }
}
