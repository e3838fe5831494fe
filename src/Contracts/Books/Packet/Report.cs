using System.Collections.Immutable;

namespace Contracts.Books.Packet;

/// <summary>One table of the packet. A report cannot be made of rows that do not fit its columns.</summary>
/// <param name="Id">The name for programs and files, such as <c>trial-balance</c>.</param>
/// <param name="Title">The heading for people.</param>
/// <param name="Note">What the reader must know to read it right, or nothing.</param>
/// <param name="Columns">At least one, no two with the same id.</param>
/// <param name="Rows">In the order in which they are read.</param>
public sealed record Report(string Id, string Title, string? Note, ImmutableArray<Column> Columns, ImmutableArray<Row> Rows)
{
    /// <summary>The name for programs and files.</summary>
    public string Id { get; } = Shape.IsReportId(Id) ? Id : throw new ArgumentException($"'{Id}' is not a report's id.", nameof(Id));

    /// <summary>The heading for people.</summary>
    public string Title { get; } = Shape.Line(Title, nameof(Title));

    /// <summary>What the reader must know to read it right, or nothing.</summary>
    public string? Note { get; } = Note is null ? null : Shape.Line(Note, nameof(Note));

    /// <summary>At least one, no two with the same id.</summary>
    public ImmutableArray<Column> Columns { get; } = Distinct(Id, Columns);

    /// <summary>In the order in which they are read.</summary>
    public ImmutableArray<Row> Rows { get; } = Fitting(Id, Columns, Rows);

    /// <summary>Equal in every word, column and row.</summary>
    public bool Equals(Report? other) => other is not null && Id == other.Id && Title == other.Title && Note == other.Note
        && Columns.SequenceEqual(other.Columns) && Rows.SequenceEqual(other.Rows);

    /// <summary>Agrees with equality.</summary>
    public override int GetHashCode() => HashCode.Combine(Id, Title, Columns.Length, Rows.Length);

    private static ImmutableArray<Column> Distinct(string id, ImmutableArray<Column> columns)
    {
        if (Shape.Present(columns, nameof(columns)).IsEmpty) { throw new ArgumentException($"Report {id} has no column.", nameof(columns)); }
        return Shape.Repeated(columns.Select(column => column.Id)) is { } twice
            ? throw new ArgumentException($"Report {id} has two columns {twice}.", nameof(columns)) : columns;
    }

    private static ImmutableArray<Row> Fitting(string id, ImmutableArray<Column> columns, ImmutableArray<Row> rows)
    {
        for (var number = 1; number <= Shape.Present(rows, nameof(Rows)).Length; number++)
        {
            var cells = rows[number - 1].Cells;
            if (cells.Length != columns.Length)
            {
                throw new ArgumentException($"Report {id}, row {number}: {cells.Length} cells for {columns.Length} columns.", nameof(rows));
            }

            for (var at = 0; at < cells.Length; at++)
            {
                if (!cells[at].Fits(columns[at].Kind))
                {
                    throw new ArgumentException(
                        $"Report {id}, row {number}: {cells[at].GetType().Name} '{cells[at].Plain}' in the {columns[at].Kind} column {columns[at].Id}.",
                        nameof(rows));
                }
            }
        }

        return rows;
    }
}
