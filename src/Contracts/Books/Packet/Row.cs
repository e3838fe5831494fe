using System.Collections.Immutable;

namespace Contracts.Books.Packet;

/// <summary>What a row adds to its report.</summary>
public enum RowKind
{
    /// <summary>A figure of its own.</summary>
    Line,

    /// <summary>The sum of some lines above it.</summary>
    Subtotal,

    /// <summary>The sum of the report.</summary>
    Total,
}

/// <summary>A row of a report; two rows with the same cells are equal.</summary>
/// <param name="Kind">A line, or a sum of lines.</param>
/// <param name="Cells">One cell for each column of the report, in that order.</param>
/// <param name="Evidence">The shell command that lists the events behind the row, where there is one.</param>
public sealed record Row(RowKind Kind, ImmutableArray<Cell> Cells, string? Evidence)
{
    /// <summary>A line, or a sum of lines.</summary>
    public RowKind Kind { get; } = Enum.IsDefined(Kind) ? Kind : throw new ArgumentOutOfRangeException(nameof(Kind));

    /// <summary>One cell for each column of the report.</summary>
    public ImmutableArray<Cell> Cells { get; } = Shape.Present(Cells, nameof(Cells));

    /// <summary>The shell command that lists the events behind the row.</summary>
    public string? Evidence { get; } = Evidence is null ? null : Shape.Line(Evidence, nameof(Evidence));

    /// <summary>Equal in kind, evidence and every cell.</summary>
    public bool Equals(Row? other) => other is not null && Kind == other.Kind && Evidence == other.Evidence && Cells.SequenceEqual(other.Cells);

    /// <summary>Agrees with equality.</summary>
    public override int GetHashCode() => HashCode.Combine(Kind, Evidence, Cells.Length, Cells.IsEmpty ? null : Cells[0]);
}
