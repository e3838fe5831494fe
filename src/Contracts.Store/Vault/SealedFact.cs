using System.Security.Cryptography;
using System.Text;
using Contracts.Households;
using Contracts.Seals;

namespace Contracts.Store.Vault;

/// <summary>A fact as the vault keeps it: the disclosure's text under the household's key (AES-256-GCM, NIST SP 800-38D).</summary>
internal static class SealedFact
{
    private const int NonceLength = 12;
    private const int TagLength = 16;

    /// <summary>Salts a fact; whoever knows the value cannot guess the digest without the salt.</summary>
    public static SaltedDisclosure Salt(PersonalFact fact) =>
        SaltedDisclosure.Of(RandomNumberGenerator.GetBytes(SaltedDisclosure.SaltLength), fact.Name, fact.Value);

    public static byte[] Close(SaltedDisclosure disclosure, byte[] key)
    {
        var clear = Encoding.ASCII.GetBytes(disclosure.Text);
        var bytes = new byte[NonceLength + clear.Length + TagLength];
        var nonce = bytes.AsSpan(0, NonceLength);
        RandomNumberGenerator.Fill(nonce);
        using var cipher = new AesGcm(key, TagLength);
        cipher.Encrypt(nonce, clear, bytes.AsSpan(NonceLength, clear.Length), bytes.AsSpan(NonceLength + clear.Length));
        return bytes;
    }

    /// <summary>The disclosure, or null where key, digest and bytes do not belong together: moved to another place, a fact opens nothing.</summary>
    public static SaltedDisclosure? Open(byte[] bytes, string digest, byte[] key)
    {
        if (bytes.Length < NonceLength + TagLength) { return null; }
        var clear = new byte[bytes.Length - NonceLength - TagLength];
        using var cipher = new AesGcm(key, TagLength);
        try
        {
            cipher.Decrypt(
                bytes.AsSpan(0, NonceLength), bytes.AsSpan(NonceLength, clear.Length), bytes.AsSpan(NonceLength + clear.Length), clear);
        }
        catch (AuthenticationTagMismatchException)
        {
            return null;
        }

        return SaltedDisclosure.Parse(Encoding.ASCII.GetString(clear)).TryGet(out var disclosure, out _) && disclosure.Digest == digest ? disclosure : null;
    }
}
