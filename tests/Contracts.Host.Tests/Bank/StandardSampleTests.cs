using Contracts.Agreements;
using Contracts.Host.Bank;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Bank;

/// <summary>
/// The worked example of the standard: the business sample of camt.053 that ISO 20022 publishes with its message definitions (iso20022.org, catalogue of messages,
/// instances of camt.053.001.04; its statement AAAASESS-FP-STAT001 of 18 October 2010). Balances, amounts, references and times are the sample's, held against what
/// public test suites say of it; parties and texts are left out. The sample is in Swedish kronor, and these books are in dollars: so it is refused as it stands, and read
/// with nothing changed but the currency.
/// </summary>
public sealed class StandardSampleTests
{
    [Theory]
    [InlineData("02", "<Sts>BOOK</Sts>")]
    [InlineData("04", "<Sts>BOOK</Sts>")]
    [InlineData("08", "<Sts><Cd>BOOK</Cd></Sts>")]
    public void The_samples_balances_hold_its_three_entries(string version, string booked)
    {
        var file = Write(version, booked, "USD");
        var (received, bad, _, notBooked) = MoneyFiles.Check(file);
        var statement = Assert.Single(received.Statements);
        Assert.Equal(($"camt.053.001.{version}", "0003", 3L), (received.Form, statement.Account, statement.Lines));
        Assert.Equal(
            ("500000.00", "135678.50", "200000.00", "435678.50"),
            (statement.Opening?.ToString(), statement.Credits.ToString(), statement.Debits.ToString(), statement.Closing?.ToString()));
        Assert.Empty(bad);
        Assert.Equal(0, notBooked);
        var lines = MoneyFiles.Lines(file, received.File).ToList();
        Assert.Equal(
            [("105678.50", true, "MUELL/FINP/RA12345"), ("200000.00", false, null), ("30000.00", true, "AAAASS1085FINPSS")],
            lines.Select(line => (line.Amount.ToString(), line.IsCredit, line.EndToEnd)));
        Assert.Equal(["AAAASESS-FP-CN_98765/01", "AAAASESS-FP-ACCR-01", "AAAASESS-FP-CONF-FX"], lines.Select(line => line.Reference));
        // The entries say moments with an offset; the day is the one written there.
        Assert.All(lines, line => Assert.Equal(new LocalDate(2010, 10, 18), line.BookedOn));
        Assert.All(lines, line => Assert.True(line.IsRecognisable));
    }

    [Fact]
    public void As_it_stands_it_is_refused_with_the_place_of_its_first_amount()
    {
        var refusal = Assert.Throws<MoneyFileException>(() => MoneyFiles.Check(Write("04", "<Sts>BOOK</Sts>", "SEK"))).Refusal;
        Assert.Equal(RefusalCode.MoneyFileCurrency, refusal.Code);
        Assert.Contains("SEK", refusal.Detail, StringComparison.Ordinal);
        Assert.Contains("Bal/Amt", refusal.Detail, StringComparison.Ordinal);
    }

    [Fact]
    public void A_cent_more_does_not_add_up_and_a_zero_less_is_the_same_amount()
    {
        Assert.Equal(RefusalCode.MoneyFileDoesNotAddUp, Assert.Throws<MoneyFileException>(() => MoneyFiles.Check(Changed(">30000<", ">30000.01<"))).Refusal.Code);
        Assert.Single(MoneyFiles.Check(Changed(">435678.50<", ">435678.5<")).File.Statements);
    }

    private static MoneyFile Changed(string from, string to)
    {
        var file = Write("04", "<Sts>BOOK</Sts>", "USD");
        File.WriteAllText(file.Path, File.ReadAllText(file.Path).Replace(from, to, StringComparison.Ordinal));
        return file;
    }

    private static MoneyFile Write(string version, string booked, string currency)
    {
        // From version 04 on a detail says its amount.
        string Detail(string amount) => version == "02" ? "" : $"<Amt Ccy=\"{currency}\">{amount}</Amt><CdtDbtInd>CRDT</CdtDbtInd>";
        var path = Path.GetTempFileName();
        File.WriteAllText(path, $"""
            <?xml version="1.0" encoding="UTF-8"?>
            <Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.{version}">
              <BkToCstmrStmt>
                <GrpHdr><MsgId>AAAASESS-FP-STAT001</MsgId><CreDtTm>2010-10-18T17:00:00+01:00</CreDtTm><MsgPgntn><PgNb>1</PgNb><LastPgInd>true</LastPgInd></MsgPgntn></GrpHdr>
                <Stmt>
                  <Id>AAAASESS-FP-STAT001</Id>
                  <CreDtTm>2010-10-18T17:00:00+01:00</CreDtTm>
                  <FrToDt><FrDtTm>2010-10-18T08:00:00+01:00</FrDtTm><ToDtTm>2010-10-18T17:00:00+01:00</ToDtTm></FrToDt>
                  <Acct><Id><Othr><Id>50000000054910000003</Id></Othr></Id></Acct>
                  <Bal><Tp><CdOrPrtry><Cd>OPBD</Cd></CdOrPrtry></Tp><Amt Ccy="{currency}">500000</Amt><CdtDbtInd>CRDT</CdtDbtInd><Dt><Dt>2010-10-15</Dt></Dt></Bal>
                  <Bal><Tp><CdOrPrtry><Cd>CLBD</Cd></CdOrPrtry></Tp><Amt Ccy="{currency}">435678.50</Amt><CdtDbtInd>CRDT</CdtDbtInd><Dt><Dt>2010-10-18</Dt></Dt></Bal>
                  <Ntry>
                    <Amt Ccy="{currency}">105678.50</Amt><CdtDbtInd>CRDT</CdtDbtInd>{booked}<BookgDt><DtTm>2010-10-18T13:15:00+01:00</DtTm></BookgDt><ValDt><Dt>2010-10-18</Dt></ValDt>
                    <AcctSvcrRef>AAAASESS-FP-CN_98765/01</AcctSvcrRef>
                    <BkTxCd><Domn><Cd>PAYM</Cd><Fmly><Cd>0001</Cd><SubFmlyCd>0005</SubFmlyCd></Fmly></Domn></BkTxCd>
                    <NtryDtls><TxDtls><Refs><EndToEndId>MUELL/FINP/RA12345</EndToEndId></Refs>{Detail("105678.50")}</TxDtls></NtryDtls>
                  </Ntry>
                  <Ntry>
                    <Amt Ccy="{currency}">200000</Amt><CdtDbtInd>DBIT</CdtDbtInd>{booked}<BookgDt><DtTm>2010-10-18T10:15:00+01:00</DtTm></BookgDt><ValDt><Dt>2010-10-18</Dt></ValDt>
                    <AcctSvcrRef>AAAASESS-FP-ACCR-01</AcctSvcrRef>
                    <BkTxCd><Domn><Cd>PAYM</Cd><Fmly><Cd>0001</Cd><SubFmlyCd>0003</SubFmlyCd></Fmly></Domn></BkTxCd>
                    <NtryDtls><Btch><MsgId>FINP-0055</MsgId><PmtInfId>FINP-0055/001</PmtInfId><NbOfTxs>20</NbOfTxs></Btch></NtryDtls>
                  </Ntry>
                  <Ntry>
                    <Amt Ccy="{currency}">30000</Amt><CdtDbtInd>CRDT</CdtDbtInd>{booked}<BookgDt><DtTm>2010-10-18T15:15:00+01:00</DtTm></BookgDt><ValDt><Dt>2010-10-18</Dt></ValDt>
                    <AcctSvcrRef>AAAASESS-FP-CONF-FX</AcctSvcrRef>
                    <BkTxCd><Domn><Cd>TREA</Cd><Fmly><Cd>0002</Cd><SubFmlyCd>0000</SubFmlyCd></Fmly></Domn></BkTxCd>
                    <NtryDtls><TxDtls><Refs><InstrId>FP-004567-FX</InstrId><EndToEndId>AAAASS1085FINPSS</EndToEndId></Refs>{Detail("30000")}</TxDtls></NtryDtls>
                  </Ntry>
                </Stmt>
              </BkToCstmrStmt>
            </Document>
            """);
        return new MoneyFile(path, "standard.xml", null);
    }
}
