using System.Drawing;
using Contracts.Books.Packet;
using SpreadCheetah;
using SpreadCheetah.Styling;

namespace Contracts.Host.MonthEnd;

/// <summary>The looks of a workbook: what a kind of column and a kind of row look like together.</summary>
internal sealed class SheetStyles
{
    private static readonly Color Shade = Color.FromArgb(0xE7, 0xE7, 0xE2);

    private readonly Dictionary<(ColumnKind, RowKind), StyleId> cells = [];
    private readonly StyleId figureHeader;

    public SheetStyles(Spreadsheet book)
    {
        Header = book.AddStyle(HeaderStyle(HorizontalAlignment.Left));
        figureHeader = book.AddStyle(HeaderStyle(HorizontalAlignment.Right));
        Heading = book.AddStyle(new Style { Font = new Font { Bold = true } });
        Loud = book.AddStyle(new Style
        {
            Font = new Font { Bold = true, Color = Color.FromArgb(0xB0, 0, 0x20) }, Alignment = new Alignment { Vertical = VerticalAlignment.Top },
        });
        Left = book.AddStyle(new Style { Alignment = new Alignment { Horizontal = HorizontalAlignment.Left } });
        Wrapped = book.AddStyle(new Style { Alignment = new Alignment { WrapText = true, Vertical = VerticalAlignment.Top } });
        foreach (var column in Enum.GetValues<ColumnKind>())
        {
            foreach (var row in Enum.GetValues<RowKind>()) { cells[(column, row)] = book.AddStyle(CellStyle(column, row)); }
        }
    }

    /// <summary>The heading of a column of words or days.</summary>
    public StyleId Header { get; }

    /// <summary>Bold words outside a table.</summary>
    public StyleId Heading { get; }

    /// <summary>What must be seen.</summary>
    public StyleId Loud { get; }

    /// <summary>A number that stands among words.</summary>
    public StyleId Left { get; }

    /// <summary>Words over several lines.</summary>
    public StyleId Wrapped { get; }

    /// <summary>The heading of a column, on the side where its cells are.</summary>
    public StyleId HeaderOf(ColumnKind kind) => kind is ColumnKind.Count or ColumnKind.Money ? figureHeader : Header;

    /// <summary>The look of a cell.</summary>
    public StyleId Of(ColumnKind column, RowKind row) => cells[(column, row)];

    private static Style HeaderStyle(HorizontalAlignment side) => new()
    {
        Font = new Font { Bold = true },
        Fill = new Fill { Color = Shade },
        Border = new Border { Bottom = new EdgeBorder { BorderStyle = BorderStyle.Thin } },
        Alignment = new Alignment { Horizontal = side, Vertical = VerticalAlignment.Bottom, WrapText = true },
    };

    private static Style CellStyle(ColumnKind column, RowKind row)
    {
        var style = new Style { Format = Format(column) };
        if (column == ColumnKind.Date) { style.Alignment.Horizontal = HorizontalAlignment.Left; }
        if (row == RowKind.Line) { return style; }
        style.Font.Bold = true;
        style.Border.Top.BorderStyle = BorderStyle.Thin;
        if (row == RowKind.Total) { style.Border.Bottom.BorderStyle = BorderStyle.DoubleLine; }
        return style;
    }

    private static NumberFormat? Format(ColumnKind column) => column switch
    {
        ColumnKind.Text => null,
        ColumnKind.Date => NumberFormat.Custom("yyyy\\-mm\\-dd"),
        ColumnKind.Count => NumberFormat.Standard(StandardNumberFormat.ThousandsSeparator),
        ColumnKind.Money => NumberFormat.Standard(StandardNumberFormat.ThousandsSeparatorTwoDecimalPlaces),
        _ => throw new ArgumentOutOfRangeException(nameof(column)),
    };
}
