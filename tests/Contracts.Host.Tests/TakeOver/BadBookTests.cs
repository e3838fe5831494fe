using System.Text;
using Contracts.Agreements;
using Xunit;

namespace Contracts.Host.Tests.TakeOver;

/// <summary>Books that cannot be used: each cell is named with line and column, and nothing of the book is taken. Everything in them is invented.</summary>
public sealed class BadBookTests
{
    private const string More = "B-2,H-2,S-2,05/05/2026,300.00,30.00,N,08/31/2026,120.00\n";
    private const string WithPayments = """, "payments":{"columns":{"contract":"No","paidOn":"Day","amount":"Amount","reference":"Receipt"}}}""";

    [Theory]
    [InlineData("B-1,H-1,S-1,05/05/26,300.00,30.00,N,,", "Signed", "four digits")]
    [InlineData("B-1,H-1,S-1,02/30/2026,300.00,30.00,N,,", "Signed", "'02/30/2026' is not a day")]
    [InlineData("B-1,H-1,S-1,2026-05-05,300.00,30.00,N,,", "Signed", "MM/dd/uuuu")]
    [InlineData("B-1,H-1,S-1,05/05/2026,300.005,30.00,N,,", "Price", "'300.005'")]
    [InlineData("B-1,H-1,S-1,05/05/2026,\"1,300.00\",30.00,N,,", "Price", "'1,300.00'")]
    [InlineData("B-1,H-1,S-1,05/05/2026,$300.00,30.00,N,,", "Price", "'$300.00'")]
    [InlineData("B-1,H-1,S-1,05/05/2026,=SUM(E2:E9),30.00,N,,", "Price", "'=SUM(E2:E9)'")]
    [InlineData("B-1,H-1,=A1,05/05/2026,300.00,30.00,N,,", "Serial", "begins with =")]
    [InlineData("B-1,@H-1,S-1,05/05/2026,300.00,30.00,N,,", "Family", "begins with @")]
    [InlineData("B-1,H-1,S-1,05/05/2026,300.00,30.00,maybe,,", "Plan", "neither 'Y' nor 'N'")]
    [InlineData("B-1,H-1,S-1,05/05/2026,300.00,30.00,N,", "line", "8 fields")]
    [InlineData("B-1,H-1,S-1,05/05/2026,300.00,30.00,N,,,", "line", "10 fields")]
    [InlineData("B-1,H-1,S-1,05/05/2026,300.00,30.00,N,,1.2.3", "Equity", "'1.2.3'")]
    public void A_cell_that_cannot_be_read_is_named_with_line_and_column(string line, string column, string says)
    {
        var (reading, _) = InventedBook.Read($"{InventedBook.Header}{More}{line}\n");
        Assert.Null(reading!.Book);
        var fault = Assert.Single(reading.Faults);
        Assert.Equal((RefusalCode.BookUnreadable, 3L, column), (fault.Cause.Code, fault.Line, fault.Column));
        Assert.Contains(says, fault.Cause.Detail, StringComparison.Ordinal);
    }

    [Fact]
    public void Every_bad_cell_is_named_at_once()
    {
        var (reading, _) = InventedBook.Read($"{InventedBook.Header}B-1,H-1,S-1,05/05/26,300.005,30.00,N,,\n{More}B-3,H-3,S-3,05/05/2026,300.00,x,N,,\n");
        Assert.Equal([(2L, "Signed"), (2L, "Price"), (4L, "Rent")], reading!.Faults.Select(one => (one.Line, one.Column!)));
    }

    [Fact]
    public void A_file_in_another_encoding_is_refused_at_the_byte_and_not_guessed()
    {
        var latin = Encoding.Latin1.GetBytes($"{InventedBook.Header}{More}B-1,Façade,S-1,05/05/2026,300.00,30.00,N,,\n");
        var fault = Assert.Single(InventedBook.Read(latin).Reading!.Faults);
        Assert.Equal((3L, "Family", "encoding"), (fault.Line, fault.Column, fault.Cause.Field));
        Assert.Contains("byte e7, the 7. of the line", fault.Cause.Detail, StringComparison.Ordinal);
        Assert.Equal(1, Assert.Single(InventedBook.Read([0xFF, 0xFE, .. Encoding.Unicode.GetBytes(InventedBook.Header)]).Reading!.Faults).Line);
        Assert.Equal(1, Assert.Single(InventedBook.Read(Encoding.Unicode.GetBytes(InventedBook.Header)).Reading!.Faults).Line);
        // The mark that spreadsheets put in front of UTF-8 is none of the text.
        Assert.NotNull(InventedBook.Read($"\uFEFF{InventedBook.Header}{More}").Reading!.Book);
    }

    [Theory]
    [InlineData("No,Family,Serial,Signed,Price,Rent,Plan,Through\n", "Equity")]
    [InlineData("No,No,Family,Serial,Signed,Price,Rent,Plan,Through,Equity\n", "No")]
    [InlineData("", "header")]
    [InlineData(InventedBook.Header, "header")]
    [InlineData(InventedBook.Header + "B-1,H-1,\"S\"-1,05/05/2026,300.00,30.00,N,,\n", "quotes")]
    public void A_file_that_is_not_the_table_of_its_mapping_is_refused(string text, string named)
    {
        var fault = Assert.Single(InventedBook.Read(text).Reading!.Faults);
        Assert.Equal((RefusalCode.BookUnreadable, named), (fault.Cause.Code, fault.Column ?? fault.Cause.Field));
    }

    [Fact]
    public void A_bad_line_of_the_payments_names_their_file()
    {
        var mapping = InventedBook.Mapping.TrimEnd()[..^1] + WithPayments;
        var (reading, _) = InventedBook.Read(
            $"{InventedBook.Header}B-1,H-1,S-1,05/05/2026,300.00,30.00,N,,\n", mapping, payments: "No,Day,Amount,Receipt\nB-1,05/05/2026,32.40,R-1\nB-1,06/31/2026,32.40,R-2\n");
        Assert.StartsWith("Payments, line 3, Day: '06/31/2026'", Assert.Single(reading!.Faults).Refusal.Detail, StringComparison.Ordinal);
        Assert.Equal("payments", InventedBook.Read(InventedBook.Header, payments: "No\n").Refusal!.Field);
        Assert.Equal("payments", InventedBook.Read(InventedBook.Header, mapping).Refusal!.Field);
    }

    [Theory]
    [InlineData("\"book\":\"small-book\"", "\"book\":\"small book\"", "book")]
    [InlineData("MM/dd/uuuu", "MM/dd/uu", "date")]
    [InlineData("\"serial\":\"Serial\",", "", "contracts.columns.serial")]
    [InlineData("\"serial\":\"Serial\",", "\"serial\":\"Serial\",\"deposit\":\"Deposit\",", "contracts.columns.deposit")]
    [InlineData("\"kind\":\"clarinet\"", "\"kind\":\"clarinet\",\"serial\":\"S\"", "contracts.always.serial")]
    [InlineData("\"kind\":\"clarinet\"", "\"kind\":\"clarinet\",\"schoolUse\":\"Y\"", "contracts.always.schoolUse")]
    [InlineData("\"kind\":\"clarinet\"", "\"kind\":\"clarinet\",\"returnedOn\":\"2026-05-05\"", "contracts.always.returnedOn")]
    [InlineData("{\"equity\":\"Equity\"}", "{\"wealth\":\"Equity\"}", "contracts.figures.wealth")]
    [InlineData("{\"book\"", "[{\"book\"", "mapping")]
    public void A_mapping_that_does_not_fit_together_is_refused_with_its_field(string from, string to, string field)
    {
        Assert.Contains(from, InventedBook.Mapping, StringComparison.Ordinal);
        var refusal = InventedBook.Read(InventedBook.Header, InventedBook.Mapping.Replace(from, to, StringComparison.Ordinal)).Refusal!;
        Assert.Equal((RefusalCode.BookMappingInvalid, field), (refusal.Code, refusal.Field));
    }

    [Fact]
    public void Another_word_in_any_file_makes_another_book()
    {
        var first = InventedBook.Good(InventedBook.Header + InventedBook.Line).Shape.Digest;
        Assert.Equal(first, InventedBook.Good(InventedBook.Header + InventedBook.Line, totals: """{"asOf":"2026-10-31","equity":"1.00"}""").Shape.Digest);
        Assert.NotEqual(first, InventedBook.Good(InventedBook.Header + InventedBook.Line + More).Shape.Digest);
        Assert.NotEqual(first, InventedBook.Good(InventedBook.Header + InventedBook.Line, InventedBook.Mapping.Replace("\"5.00\"", "\"6.00\"", StringComparison.Ordinal)).Shape.Digest);
    }
}
