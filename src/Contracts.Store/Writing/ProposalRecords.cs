using Contracts.Agreements;
using Contracts.Proposals;
using Contracts.Store.Proposals;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>
/// Decides on proposals inside a batch. An approval and what it carries out are one transaction: there is no approved change of a
/// contract that did not happen, and none that happened without its two names.
/// </summary>
internal sealed class ProposalRecords(WriteScope scope, Decider decider, BatchDecider desk)
{
    /// <summary>Records a proposal whose change would be possible now, or says why not.</summary>
    public async Task<Refusal?> ProposeAsync(Command.Propose propose, Instant at, CancellationToken stop)
    {
        if (ProposalDesk.Fault(propose, scope.Proposals.GetValueOrDefault(propose.Proposal)) is { } refusal) { return refusal; }
        if (scope.Applied.ContainsKey(propose.Change.Origin.Key))
        {
            return new Refusal(RefusalCode.ProposalAlreadyMade, $"A command with the key {propose.Change.Origin.Key} was applied already.", "proposal");
        }

        var contract = (propose.Change as Command.OnContract)?.Contract;
        if (propose.Change is Command.OnContract { Body: not ContractCommand.Issue } on)
        {
            var known = await scope.FetchAsync(on.Contract, stop).ConfigureAwait(false);
            if (decider.Decide(known.History, desk.ContextAt(at), on) is Decision.Refused refused) { return refused.Refusal; }
        }

        var made = new ChangeProposed(propose.Proposal, contract, propose.Text);
        desk.Findings.Add(ProposalStreams.Of(propose.Proposal), 0, made, at, propose.Origin, null);
        scope.Proposals[propose.Proposal] = made.ToProposal(propose.Origin.By!, propose.Origin.Reason);
        return null;
    }

    /// <summary>Carries a proposal out and records who approved it, or says why not; then the proposal stays open.</summary>
    public async Task<(Refusal? Refusal, string? Contract)> ApproveAsync(Command.Approve approve, long? seen, Instant at, CancellationToken stop)
    {
        var given = scope.Proposals.GetValueOrDefault(approve.Proposal);
        var (change, refusal) = ProposalDesk.Approve(approve, given);
        if (change is null) { return (refusal, null); }
        var contract = (change as Command.OnContract)?.Contract;
        if (change is Command.OnContract on)
        {
            if (scope.Applied.ContainsKey(on.Origin.Key))
            {
                return (new Refusal(RefusalCode.ProposalSettled, $"A command with the key {on.Origin.Key} was applied meanwhile; put the proposal aside.", "proposal"), null);
            }

            await scope.FetchAsync(on.Contract, stop).ConfigureAwait(false);
            if (SeenVersion.Moved(scope, new CommandRequest(on, null, seen)) is { } moved) { return (moved, null); }
            var before = desk.Findings.Events.Count;
            if (await desk.DecideAsync(on, at, stop).ConfigureAwait(false) is { } stands) { return (stands, null); }
            desk.Stamp(new NewKey(on.Origin.Key, on.Contract, at, desk.Findings.Events.Count - before));
        }

        desk.Findings.Add(ProposalStreams.Of(approve.Proposal), null, new ChangeApproved(approve.Proposal), at, approve.Origin, null);
        scope.Proposals[approve.Proposal] = given! with { End = ProposalEnd.Approved, By = approve.Origin.By };
        return (null, contract);
    }

    /// <summary>Puts a proposal aside, or says why not.</summary>
    public Refusal? Decline(Command.Decline decline, Instant at)
    {
        var given = scope.Proposals.GetValueOrDefault(decline.Proposal);
        if (ProposalDesk.Fault(decline, given) is { } refusal) { return refusal; }
        desk.Findings.Add(ProposalStreams.Of(decline.Proposal), null, new ChangeDeclined(decline.Proposal), at, decline.Origin, null);
        scope.Proposals[decline.Proposal] = given! with { End = ProposalEnd.Declined, By = decline.Origin.By };
        return null;
    }
}
