using System.Collections.Immutable;
using Contracts.Books.Packet;

namespace Contracts.Books.Month;

/// <summary>Puts a report together, row by row.</summary>
internal sealed class Table(string id, string title, string? note, params ImmutableArray<Column> columns)
{
    private readonly ImmutableArray<Row>.Builder rows = ImmutableArray.CreateBuilder<Row>();

    /// <summary>An account in the two cells that tables have for it: its number, and its name with the authority.</summary>
    public static Cell[] Name(Chart chart, BookAccount account, string authority = "") =>
        [Cell.Of(chart[account].Number), Cell.Of(authority.Length == 0 ? chart[account].Title : $"{chart[account].Title}, {authority}")];

    public static Column Words(string id, string title) => new(id, title, ColumnKind.Text);

    public static Column Amount(string id, string title) => new(id, title, ColumnKind.Money);

    public static Column Number(string id, string title) => new(id, title, ColumnKind.Count);

    public static Column Day(string id, string title) => new(id, title, ColumnKind.Date);

    public Table Line(string? evidence, params ImmutableArray<Cell> cells) => Add(RowKind.Line, evidence, cells);

    public Table Subtotal(params ImmutableArray<Cell> cells) => Add(RowKind.Subtotal, null, cells);

    public Table Total(params ImmutableArray<Cell> cells) => Add(RowKind.Total, null, cells);

    public Report Done() => new(id, title, note, columns, rows.ToImmutable());

    private Table Add(RowKind kind, string? evidence, ImmutableArray<Cell> cells)
    {
        rows.Add(new Row(kind, cells, evidence));
        return this;
    }
}
