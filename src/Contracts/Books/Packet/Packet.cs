using System.Collections.Immutable;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Books.Packet;

/// <summary>Something that had to come out right for the month, and whether it did.</summary>
/// <param name="Name">What was checked, as a sentence that should be true.</param>
/// <param name="Passed">Whether it is.</param>
/// <param name="Detail">The figures that were held against each other.</param>
public sealed record Check(string Name, bool Passed, string Detail)
{
    /// <summary>What was checked, as a sentence that should be true.</summary>
    public string Name { get; } = Shape.Line(Name, nameof(Name));

    /// <summary>The figures that were held against each other.</summary>
    public string Detail { get; } = Detail ?? throw new ArgumentNullException(nameof(Detail));
}

/// <summary>
/// What a closed month hands to the accountant: checks and reports, as known at one moment and through one event. It says
/// nothing of how it is shown; equal packets have equal bytes in <see cref="PacketJson"/>.
/// </summary>
/// <remarks>Not legal, tax or accounting advice.</remarks>
/// <param name="Month">The month, as YYYY-MM.</param>
/// <param name="Known">The moment up to which recorded events count.</param>
/// <param name="ThroughSequence">The last event that counts; 0 if there is none.</param>
/// <param name="Title">Whose books these are.</param>
/// <param name="Checks">In the order in which they are read.</param>
/// <param name="Reports">In the order in which they are read, no two with the same id.</param>
public sealed record Packet(
    string Month, Instant Known, long ThroughSequence, string Title, ImmutableArray<Check> Checks, ImmutableArray<Report> Reports)
{
    /// <summary>The month, as YYYY-MM.</summary>
    public string Month { get; } = Month is not null && YearMonthPattern.Iso.Parse(Month).Success && Month.Length == 7
        ? Month : throw new ArgumentException($"'{Month}' is not a month such as 2026-09.", nameof(Month));

    /// <summary>The last event that counts; 0 if there is none.</summary>
    public long ThroughSequence { get; } = ThroughSequence >= 0 ? ThroughSequence : throw new ArgumentOutOfRangeException(nameof(ThroughSequence));

    /// <summary>Whose books these are.</summary>
    public string Title { get; } = Shape.Line(Title, nameof(Title));

    /// <summary>In the order in which they are read.</summary>
    public ImmutableArray<Check> Checks { get; } = Shape.Present(Checks, nameof(Checks));

    /// <summary>In the order in which they are read, no two with the same id.</summary>
    public ImmutableArray<Report> Reports { get; } = Shape.Repeated(Shape.Present(Reports, nameof(Reports)).Select(report => report.Id)) is { } twice
        ? throw new ArgumentException($"The packet has two reports {twice}.", nameof(Reports)) : Reports;

    /// <summary>Equal in every word, check and report.</summary>
    public bool Equals(Packet? other) => other is not null && Month == other.Month && Known == other.Known && Title == other.Title
        && ThroughSequence == other.ThroughSequence && Checks.SequenceEqual(other.Checks) && Reports.SequenceEqual(other.Reports);

    /// <summary>Agrees with equality.</summary>
    public override int GetHashCode() => HashCode.Combine(Month, Known, ThroughSequence, Title, Reports.Length);
}
