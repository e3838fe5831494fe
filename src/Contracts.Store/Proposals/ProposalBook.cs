using Contracts.Proposals;
using Contracts.Store.Writing;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Proposals;

/// <summary>What was proposed, by whom, and what a second person made of it.</summary>
public sealed class ProposalBook
{
    private readonly NpgsqlDataSource source;

    internal ProposalBook(NpgsqlDataSource source) => this.source = source;

    /// <summary>Every proposal known at a moment, in the order in which they were made.</summary>
    public async Task<IReadOnlyList<RecordedProposal>> ListAsync(Instant known, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(ProposalRows.All);
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(known) });
        return await ProposalRows.ReadAsync(command, stop).ConfigureAwait(false);
    }

    /// <summary>One proposal, or null where none has that name.</summary>
    public async Task<RecordedProposal?> FindAsync(string proposal, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(ProposalRows.Named);
        command.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [ProposalStreams.Of(proposal)] });
        return (await ProposalRows.ReadAsync(command, stop).ConfigureAwait(false)).SingleOrDefault();
    }

    /// <summary>Whether a second person approved the close of a month.</summary>
    public async Task<RecordedProposal?> ApprovedCloseAsync(YearMonth month, Instant known, CancellationToken stop = default) =>
        (await ListAsync(known, stop).ConfigureAwait(false)).LastOrDefault(one =>
            one.Proposal is { End: ProposalEnd.Approved, Change: Agreements.Command.Close close } && close.Month == month);
}
