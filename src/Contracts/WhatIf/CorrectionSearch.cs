using System.Collections.Immutable;
using System.Numerics;
using System.Security.Cryptography;
using System.Text;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.History;
using Contracts.Payments;
using NodaTime;

namespace Contracts.WhatIf;

/// <summary>Tries the lists of a closed set of commands, the shorter ones first, on the real history with the real rules.</summary>
internal sealed class CorrectionSearch
{
    /// <summary>The set has no more: with this many each list of them can be tried.</summary>
    private const int MostSteps = 6;
    private const int LongestReason = 200;

    private readonly WhatIfQuestion question;
    private readonly DecisionContext context;
    private readonly IReadOnlyList<CorrectionStep> steps;
    private readonly HashSet<string> feesThen;
    private readonly Account? goal;
    private readonly string digest;
    private readonly string? by;
    private readonly string reason;
    private readonly Dictionary<CorrectionStep, RefusedStep> refused = [];

    public CorrectionSearch(WhatIfAnswer answer, string? by, string? reason)
    {
        (question, this.by) = (answer.Question, by);
        var today = question.Known.InZone(question.Zone).Date;
        context = new DecisionContext(question.Rates, today);
        steps = [.. new CorrectionSteps(question.History, question.Rates, today).Of(answer.Supposed).Take(MostSteps)];
        var then = AccountFold.At(answer.Supposed.History, question.Rates, today);
        (feesThen, goal) = (Fees(then).Select(fee => fee.Id).ToHashSet(StringComparer.Ordinal), Figured(then));
        var text = string.Create(
            System.Globalization.CultureInfo.InvariantCulture,
            $"{question.History.Contract}\n{question.History.Entries[^1].Sequence}\n{answer.Supposed.Original?.Key}\n{answer.Says}");
        digest = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text)))[..12];
        var why = reason ?? $"correction, {answer.Says}";
        this.reason = why.Length > LongestReason ? why[..LongestReason] : why;
    }

    private LocalDate Today => context.RecordingDate;

    /// <summary>A list that was tried: its commands, and the account after them.</summary>
    private sealed record Tried(ImmutableArray<Command.OnContract> Commands, ContractHistory History);

    public Corrections Find()
    {
        (Tried List, long Off)? best = null;
        foreach (var choice in Enumerable.Range(0, 1 << steps.Count).OrderBy(choice => BitOperations.PopCount((uint)choice)).ThenBy(choice => choice))
        {
            if (Try(choice) is not { } tried) { continue; }
            foreach (var list in new[] { tried, WithWaivers(tried) })
            {
                var off = Off(list.History);
                // Nearest first; of equally near ones the shorter.
                if (best is { } found && (off, list.Commands.Length).CompareTo((found.Off, found.List.Commands.Length)) >= 0) { continue; }
                best = (list, off);
            }
        }

        var chosen = best!.Value.List;
        var account = Figured(AccountFold.At(chosen.History, context.Rates, Today));
        var (left, words) = (SupposedFigure.Between(account, goal), SupposedFigure.Words(account, goal));
        var reaches = left.IsEmpty && words.IsEmpty;
        return new Corrections(chosen.Commands, reaches, left, words, reaches ? [] : [.. refused.Values]);
    }

    /// <summary>Decides the chosen steps one after the other; null where one of them is refused.</summary>
    private Tried? Try(int choice)
    {
        var tried = new Tried([], question.History);
        for (var index = 0; index < steps.Count; index++)
        {
            if ((choice & (1 << index)) == 0) { continue; }
            var step = steps[index];
            var (next, refusal) = After(tried, step);
            if (next is null)
            {
                refused.TryAdd(step, new RefusedStep(Of(step, tried.Commands.Length), refusal!));
                return null;
            }

            tried = next;
        }

        return tried;
    }

    /// <summary>The same list, and a waiver of each fee that stands after it and would not stand.</summary>
    private Tried WithWaivers(Tried tried)
    {
        foreach (var fee in Fees(AccountFold.At(tried.History, context.Rates, Today)).Where(fee => !feesThen.Contains(fee.Id)).ToList())
        {
            tried = After(tried, new CorrectionStep(new ContractCommand.Waive(fee.Id), fee.DueOn)).Next ?? tried;
        }

        return tried;
    }

    private (Tried? Next, Refusal? Refusal) After(Tried tried, CorrectionStep step)
    {
        var command = Of(step, tried.Commands.Length);
        var decision = ContractDecider.Decide(tried.History, context, command.Origin, command.On, command.Body);
        if (decision is not Decision.Accepted accepted) { return (null, ((Decision.Refused)decision).Refusal); }
        var sequence = tried.History.Entries[^1].Sequence;
        var history = accepted.Outcomes.Aggregate(tried.History, (lived, outcome) => lived.Evolve(new Recorded(
            outcome.Event, ++sequence, question.Known, command.Origin.Key, command.Origin.By, command.Origin.Reason, outcome.Cause)));
        return (new Tried(tried.Commands.Add(command), history), null);
    }

    /// <summary>How far the account is from where it would be: cents and counts that differ, and a word for more than any cent.</summary>
    private long Off(ContractHistory history)
    {
        var account = Figured(AccountFold.At(history, context.Rates, Today));
        return SupposedFigure.Between(account, goal).Sum(figure => Math.Abs(figure.After - figure.Before)) + (SupposedFigure.Words(account, goal).Length * 1_000_000L);
    }

    /// <summary>
    /// The step as a command. The same account, change and place always have the same key, since some fees are named for it; once one of the
    /// commands is recorded the account is another one.
    /// </summary>
    private Command.OnContract Of(CorrectionStep step, int place) => new(question.History.Contract, step.On, step.Body)
    {
        Origin = new CommandOrigin(string.Create(System.Globalization.CultureInfo.InvariantCulture, $"what-if-{digest}-{place + 1}"), by, reason),
    };

    private static IEnumerable<Charge> Fees(AccountState? state) => state?.Charges.Where(charge =>
        charge.ReversedOn is null && charge.Kind is ChargeKind.Late or ChargeKind.Returned or ChargeKind.Unreturned or ChargeKind.Loss) ?? [];

    private static Account? Figured(AccountState? state) => state is null ? null : Account.Of(state, default);
}
