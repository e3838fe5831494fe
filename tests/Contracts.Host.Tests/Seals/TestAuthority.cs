using System.Formats.Asn1;
using System.Security.Cryptography;
using System.Security.Cryptography.Pkcs;
using System.Security.Cryptography.X509Certificates;

namespace Contracts.Host.Tests.Seals;

/// <summary>What a test gets wrong on purpose when it makes an authority.</summary>
internal enum Flaw
{
    None,
    PurposeNotCritical,
    OtherPurpose,
    TwoPurposes,
    IsAuthority,
    KeyForOtherThings,
    KeyForNothingSaid,
    KeyForPromisesOnly,
    WeakSignature,
    CertificateNotNamed,
    EndedLongAgo,
    CarriesMore,
    UnsignedAttribute,
    WeakHash,
}

/// <summary>A time stamping authority of a test: a root, and a certificate that signs tokens of any time.</summary>
internal sealed class TestAuthority : IDisposable
{
    private const string TimeStamping = "1.3.6.1.5.5.7.3.8";
    private static readonly DateTimeOffset Begin = new(2020, 1, 1, 0, 0, 0, TimeSpan.Zero);

    private readonly Flaw flaw;
    private readonly ECDsa rootKey = ECDsa.Create(ECCurve.NamedCurves.nistP256);
    private readonly X509Certificate2 signer;

    public TestAuthority(Flaw flaw = Flaw.None)
    {
        this.flaw = flaw;
        var root = new CertificateRequest("CN=Test only root (never trust)", rootKey, HashAlgorithmName.SHA256);
        root.CertificateExtensions.Add(new X509BasicConstraintsExtension(true, false, 0, true));
        Root = root.CreateSelfSigned(Begin, Begin.AddYears(100));
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest("CN=Test only authority (never trust)", key, HashAlgorithmName.SHA256);
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(flaw == Flaw.IsAuthority, false, 0, true));
        var usage = flaw switch
        {
            Flaw.KeyForOtherThings => X509KeyUsageFlags.DigitalSignature | X509KeyUsageFlags.KeyAgreement,
            Flaw.KeyForPromisesOnly => X509KeyUsageFlags.NonRepudiation,
            _ => X509KeyUsageFlags.DigitalSignature,
        };
        if (flaw != Flaw.KeyForNothingSaid) { request.CertificateExtensions.Add(new X509KeyUsageExtension(usage, true)); }
        OidCollection purposes = flaw switch
        {
            Flaw.OtherPurpose => [new Oid("1.3.6.1.5.5.7.3.3")],
            Flaw.TwoPurposes => [new Oid(TimeStamping), new Oid("1.3.6.1.5.5.7.3.3")],
            _ => [new Oid(TimeStamping)],
        };
        request.CertificateExtensions.Add(new X509EnhancedKeyUsageExtension(purposes, flaw != Flaw.PurposeNotCritical));
        var end = flaw == Flaw.EndedLongAgo ? Begin.AddYears(2) : Begin.AddYears(90);
        using var made = request.Create(Root, Begin, end, Number());
        signer = made.CopyWithPrivateKey(key);
    }

    public X509Certificate2 Root { get; }

    public X509Certificate2Collection Roots => [Root];

    public string RootPem => Root.ExportCertificatePem() + "\n";

    /// <summary>A token over the data, of a time.</summary>
    public byte[] Token(byte[] data, DateTimeOffset at, byte[]? nonce = null)
    {
#pragma warning disable CA5350 // The weak digest is what has to be refused.
        var (oid, digest) = flaw == Flaw.WeakHash ? ("1.3.14.3.2.26", SHA1.HashData(data)) : ("2.16.840.1.101.3.4.2.1", SHA256.HashData(data));
#pragma warning restore CA5350
        return TokenOf(digest, oid, at, nonce);
    }

    /// <summary>The answer to a request, as an authority sends it.</summary>
    public byte[] Answer(byte[] request, DateTimeOffset at)
    {
        if (!Rfc3161TimestampRequest.TryDecode(request, out var asked, out _)) { throw new InvalidDataException("no request"); }
        var writer = new AsnWriter(AsnEncodingRules.DER);
        using (writer.PushSequence())
        {
            using (writer.PushSequence()) { writer.WriteInteger(0); }
            writer.WriteEncodedValue(TokenOf(asked.GetMessageHash().ToArray(), asked.HashAlgorithmId.Value!, at, asked.GetNonce()?.ToArray()));
        }

        return writer.Encode();
    }

    public void Dispose()
    {
        signer.Dispose();
        Root.Dispose();
        rootKey.Dispose();
    }

    private byte[] TokenOf(byte[] digest, string algorithm, DateTimeOffset at, byte[]? nonce)
    {
        var info = new Rfc3161TimestampTokenInfo(new Oid("1.2.3.4.1"), new Oid(algorithm), digest, Number(), at, null, false, nonce ?? Number());
        var signed = new SignedCms(new ContentInfo(new Oid("1.2.840.113549.1.9.16.1.4"), info.Encode()));
        var by = new CmsSigner(SubjectIdentifierType.IssuerAndSerialNumber, signer) { DigestAlgorithm = new Oid(flaw == Flaw.WeakSignature ? "1.3.14.3.2.26" : "2.16.840.1.101.3.4.2.1"), IncludeOption = X509IncludeOption.EndCertOnly };
        var (name, certificate) = flaw == Flaw.CertificateNotNamed ? ("1.2.840.113549.1.9.16.2.12", WeakSigningCertificate()) : ("1.2.840.113549.1.9.16.2.47", SigningCertificate());
        by.SignedAttributes.Add(new AsnEncodedData(new Oid(name), certificate));
        if (flaw == Flaw.CarriesMore) { by.Certificates.Add(new TestAuthority().Root); }
        if (flaw == Flaw.UnsignedAttribute) { by.UnsignedAttributes.Add(new Pkcs9DocumentName("anything")); }
        signed.ComputeSignature(by);
        return signed.Encode();
    }

    /// <summary>ESSCertID of old (RFC 2634), by SHA-1.</summary>
    private byte[] WeakSigningCertificate()
    {
        var writer = new AsnWriter(AsnEncodingRules.DER);
        using (writer.PushSequence())
        using (writer.PushSequence())
#pragma warning disable CA5350 // The weak digest is what has to be refused.
        using (writer.PushSequence()) { writer.WriteOctetString(SHA1.HashData(signer.RawData)); }
#pragma warning restore CA5350
        return writer.Encode();
    }

    /// <summary>A positive number without needless zeros before it.</summary>
    private static byte[] Number() => [1, .. RandomNumberGenerator.GetBytes(7)];

    /// <summary>ESSCertIDv2 (RFC 5035): which certificate signed, by digest.</summary>
    private byte[] SigningCertificate()
    {
        var writer = new AsnWriter(AsnEncodingRules.DER);
        using (writer.PushSequence())
        using (writer.PushSequence())
        using (writer.PushSequence()) { writer.WriteOctetString(SHA256.HashData(signer.RawData)); }
        return writer.Encode();
    }
}
