using System.Collections.Immutable;
using Contracts.Agreements;

namespace Contracts.Bank;

/// <summary>A contract, and of it a payment, that a line may be about.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Payment">The key of the payment, or null.</param>
/// <param name="Why">What speaks for it.</param>
public sealed record Candidate(string Contract, string? Payment, string Why);

/// <summary>What became of a line. Every line ends in exactly one of three: matched, proposed, unmatched.</summary>
public abstract record Finding
{
    private Finding() { }

    /// <summary>Why.</summary>
    public required string Because { get; init; }

    /// <summary>It is known what it is about: a payment, or one that came back. A command is made of it.</summary>
    /// <param name="Contract">The contract.</param>
    /// <param name="Body">The command: <c>pay</c> or <c>reverse-payment</c>.</param>
    /// <param name="Remark">What somebody should see to all the same, or null.</param>
    public sealed record Matched(string Contract, ContractCommand Body, string? Remark = null) : Finding;

    /// <summary>Matched as well: the money of payments that were recorded when they were made. Nothing more is recorded of the contracts.</summary>
    /// <param name="Payments">The payments.</param>
    public sealed record Arrived(ImmutableArray<KnownPayment> Payments) : Finding;

    /// <summary>Matched as well: a family's one payment over several contracts came back, so what each of them got of it is taken back.</summary>
    /// <param name="Payments">The payments, each of its own contract.</param>
    /// <param name="Code">The code they came back with.</param>
    public sealed record CameBack(ImmutableArray<KnownPayment> Payments, string Code) : Finding
    {
        /// <summary>What somebody should see to: the terms of each contract know nothing of the other's fee.</summary>
        public const string Remark = "one payment came back, and each contract may charge its fee for a returned payment: waive what is too much";
    }

    /// <summary>It may be about one of several; a person decides.</summary>
    /// <param name="Candidates">What it may be about, at most ten.</param>
    public sealed record Proposed(ImmutableArray<Candidate> Candidates) : Finding;

    /// <summary>Nothing is known that it could be about.</summary>
    public sealed record Unmatched : Finding;
}
